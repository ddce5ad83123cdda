"""What was written, as every command that writes shows it."""

from collections.abc import Iterable

from nutgen.documents.blocks import Column, Document, Table, Title


def file_blocks(folder: str, files: Iterable[tuple[str, int]]) -> Document:
    """What was written, with sizes."""
    columns = Column("file"), Column("size", right=True)
    return Title(folder), Table(columns, tuple((name, size_words(size)) for name, size in files), "files", indent=2)


def size_words(size: int) -> str:
    """A file size as people say it."""
    return f"{size} B" if size < 1000 else f"{size / 1000:.1f} kB" if size < 1_000_000 else f"{size / 1e6:.1f} MB"
