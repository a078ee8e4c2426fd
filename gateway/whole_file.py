"""A file that others read while it is written: they see the old one or the new one, never half of one."""

from pathlib import Path

READABLE = 0o644


def write_whole(target: Path, contents: bytes, *, for_all: bool = False) -> None:
    """Makes it beside and renames it into place. No link is followed: one in its place is replaced. `for_all`: whoever may enter the
    folder may read it, whatever the umask says."""
    making = target.with_name(f".{target.name}.making")
    making.unlink(missing_ok=True)
    with making.open("xb") as file:  # only a new one: a link laid in its place is not followed
        file.write(contents)
    if for_all:
        making.chmod(READABLE)
    making.replace(target)
