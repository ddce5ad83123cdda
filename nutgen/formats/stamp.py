"""What every file says of itself: the job, the values it came from, the program."""

from dataclasses import dataclass

from nutgen import __version__


@dataclass(frozen=True, slots=True)
class Stamp:
    """title of the job; spec_hash names the values it was solved from."""

    title: str
    spec_hash: str

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
