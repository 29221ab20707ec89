"""Prints every comparison and its sums by kind and basis; the exit code says whether all fall inside.

With `--long` also the queue engine against queueing theory within 1 % and plans against published optima, which
takes minutes.
"""

import argparse
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
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--long", action="store_true", help="with the comparisons that take minutes")
    found = rows(long=parser.parse_args().long)
    print(_line(_HEAD))
    for row in found:
        print(_line(_cells(row)))
    print()
    passed = Counter((row.kind, row.basis) for row in found if row.passes)
    for key, total in sorted(Counter((row.kind, row.basis) for row in found).items()):
        print(f"{key[0]}, {key[1]}: {passed[key]} of {total} inside")
    remembered = [row for row in found if row.is_from_memory]
    print(
        f"of these with a figure from memory: {sum(r.passes for r in remembered)} of {len(remembered)} inside"
    )
    outside = sum(not row.passes for row in found)
    print(f"{len(found)} comparisons, {outside} outside")
    return 1 if outside else 0


if __name__ == "__main__":
    sys.exit(main())
