"""One measured figure: what it took, what its floor took, and the bound that the issue sets. Values only."""

import tempfile
from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """`ours` and `floor` in `unit`; `most` (`least`): the bound of ours / floor. `most_ours`: a bound of the figure itself."""

    what: str
    ours: float
    unit: str
    floor: float | None = None
    floor_is: str = ""
    most: float | None = None
    least: float | None = None
    most_ours: float | None = None

    @property
    def ratio(self) -> float | None:
        """Ours by the floor; None where there is no floor to speak of."""
        return self.ours / self.floor if self.floor else None

    @property
    def bound(self) -> str:
        """The bound in words."""
        if self.most is not None:
            return f"at most {self.most:g} ×"
        if self.least is not None:
            return f"at least {self.least:g} ×"
        return f"at most {self.most_ours:g} {self.unit}" if self.most_ours is not None else ""

    @property
    def kept(self) -> bool | None:
        """Whether the bound is kept; None where there is none."""
        if self.most is not None and self.ratio is not None:
            return self.ratio <= self.most
        if self.least is not None and self.ratio is not None:
            return self.ratio >= self.least
        return None if self.most_ours is None else self.ours <= self.most_ours


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """How much to measure: `short` for CI. `folder` is on the disk that the store would be on."""

    folder: Path
    short: bool = False
    notes: list[str] = field(default_factory=list)

    def place(self, name: str) -> Path:
        """A fresh folder."""
        made = self.folder / name
        made.mkdir()
        return made

    def fresh(self, name: str) -> Path:
        """Another of that kind."""
        return Path(tempfile.mkdtemp(prefix=f"{name}-", dir=self.folder))
