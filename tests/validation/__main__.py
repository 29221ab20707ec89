"""Prints every comparison and its sums by kind and basis; the exit code says whether all fall inside."""

import sys
from collections import Counter
from collections.abc import Iterable

from tests.validation.row import Row
from tests.validation.rows import rows

_HEAD = ("quantity", "ours", "published", "difference", "accepted", "", "basis", "kind", "source")


def _line(cells: Iterable[str]) -> str:
    widths = (72, 11, 11, 11, 22, 8, 12, 17, 0)
    return " ".join(f"{cell:<{width}}" for cell, width in zip(cells, widths, strict=True)).rstrip()


def _cells(row: Row) -> tuple[str, ...]:
    figures = (f"{value:.5g}" for value in (row.ours, row.published, row.difference))
    source = f"{row.source} ({row.remark})" if row.remark else row.source
    verdict = "" if row.passes else "OUTSIDE"
    return (row.quantity, *figures, row.tolerance, verdict, row.basis, row.kind, source)


def main() -> int:
    print(_line(_HEAD))
    for row in rows():
        print(_line(_cells(row)))
    print()
    passed = Counter((row.kind, row.basis) for row in rows() if row.passes)
    for key, total in sorted(Counter((row.kind, row.basis) for row in rows()).items()):
        print(f"{key[0]}, {key[1]}: {passed[key]} of {total} inside")
    remembered = [row for row in rows() if row.is_from_memory]
    print(
        f"of these with a figure from memory: {sum(r.passes for r in remembered)} of {len(remembered)} inside"
    )
    outside = sum(not row.passes for row in rows())
    print(f"{len(rows())} comparisons, {outside} outside")
    return 1 if outside else 0


if __name__ == "__main__":
    sys.exit(main())
