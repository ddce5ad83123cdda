"""What every file says of itself: the job, the values it came from, the program."""

from dataclasses import dataclass
from textwrap import wrap

from nutgen import __version__


@dataclass(frozen=True, slots=True)
class Stamp:
    """title of the job; spec_hash names the values it was solved from; caution: of the material, for drawings."""

    title: str
    spec_hash: str
    caution: str = ""

    @property
    def notes(self) -> list[str]:
        """What a drawing says beside its views, on lines of no more than 80 letters after the first."""
        return [self.line, *wrap(self.caution, 80)]

    @property
    def program(self) -> str:
        """Name and version of the program."""
        return f"nutgen {__version__}"

    @property
    def line(self) -> str:
        """Title, hash and program in one line."""
        return f"{self.title} | {self.spec_hash} | {self.program}"

    @property
    def ascii_line(self) -> str:
        """The same for headers that hold ASCII only; other letters become question marks."""
        return self.line.encode("ascii", "replace").decode("ascii")
