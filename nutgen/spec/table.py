"""What every table of an instrument file is."""

from typing import ClassVar

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table of the file: frozen, no unknown key."""

    model_config: ClassVar[ConfigDict] = ConfigDict(frozen=True, extra="forbid", strict=True)
