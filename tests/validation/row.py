"""One comparison with a figure from outside the project, and reading of the data tables beside this file."""

import csv
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

DATA = Path(__file__).parent / "data"


class Basis(StrEnum):
    """Whether a constant of the model was chosen with this figure in view."""

    FITTED = "fitted"
    INDEPENDENT = "independent"


class Kind(StrEnum):
    """Where the outside figure comes from."""

    MEASURED = "measured"
    SOLVER = "published solver"
    HANDBOOK = "handbook"
    ARITHMETIC = "arithmetic"


@dataclass(frozen=True, slots=True)
class Row:
    """Our figure, the published one and the interval ours must fall in. `remark` says what is from memory."""

    quantity: str
    ours: float
    published: float
    low: float
    high: float
    source: str
    basis: Basis
    kind: Kind
    remark: str = ""

    @property
    def passes(self) -> bool:
        return bool(self.low <= self.ours <= self.high)

    @property
    def is_from_memory(self) -> bool:
        """Whether a figure of this comparison was not read in the document itself."""
        return "memory" in self.remark

    @property
    def difference(self) -> float:
        return self.ours - self.published

    @property
    def tolerance(self) -> str:
        return f"{self.low:.5g} .. {self.high:.5g}"


def within(share: float, published: float) -> tuple[float, float]:
    """The interval of a relative tolerance about a published figure."""
    spread = share * abs(published)
    return published - spread, published + spread


def table(name: str) -> list[dict[str, str]]:
    """Rows of one data file; lines that begin with # are its source notes."""
    with (DATA / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))
