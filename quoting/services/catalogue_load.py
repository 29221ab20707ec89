"""Loading the catalogue's files: checked row by row, stored in one transaction, and loaded again without change.

Rows the owner added or edited are kept as they are; a file's row of the same code is then passed over.
"""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import transaction

from quoting.models import CatalogueRow, EnteredBy
from quoting.models.catalogue import CODE_PATTERN
from quoting.services.catalogue import TABLES, renew_stamp
from quoting.services.catalogue_fields import FIELDS, Codes, WrongRow, checked_values


@dataclass(frozen=True, slots=True)
class Loaded:
    """What loading did to one kind."""

    kind: str
    added: int
    changed: int
    unchanged: int
    kept_for_owner: int


@transaction.atomic
def load_catalogue(folder: Path) -> tuple[Loaded, ...]:
    """Load every kind's file from the folder; raises `WrongRow` and stores nothing when one row is wrong."""
    loaded = tuple(_load_kind(kind, folder / f"{kind}.toml") for kind in TABLES)
    if any(kind.added or kind.changed for kind in loaded):
        renew_stamp()
    return loaded


def _load_kind(kind: str, path: Path) -> Loaded:
    table = TABLES[kind]
    stored = {row.code: row for row in table.objects.select_for_update()}
    counts = dict.fromkeys(("added", "changed", "unchanged", "kept_for_owner"), 0)
    for order, row in enumerate(read_rows(kind, path), start=1):
        counts[_store(table, stored.get(row.code), row, order * 10)] += 1
    _check_codes(kind, path)
    return Loaded(kind, **counts)


def _store(table: type[CatalogueRow], old: CatalogueRow | None, row: "FileRow", order: int) -> str:
    if old is None:
        table.objects.create(
            code=row.code, name=row.name, order=order, values=row.values, entered_by=EnteredBy.CATALOGUE
        )
        return "added"
    if old.entered_by == EnteredBy.OWNER:
        return "kept_for_owner"
    if (old.name, old.order, old.values) == (row.name, order, row.values):
        return "unchanged"
    table.objects.filter(pk=old.pk).update(name=row.name, order=order, values=row.values)
    return "changed"


@dataclass(frozen=True, slots=True)
class FileRow:
    """One row of a catalogue file, checked and in SI."""

    code: str
    name: str
    values: dict[str, Any]


def read_rows(kind: str, path: Path) -> tuple[FileRow, ...]:
    """The rows of one catalogue file; raises `WrongRow` naming file, row and field."""
    try:
        with path.open("rb") as file:
            rows = tomllib.load(file).get("row", [])
    except FileNotFoundError as error:
        raise WrongRow(f"{path.name}: the file is missing") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise WrongRow(f"{path.name}: {error}") from error
    read: dict[str, FileRow] = {}
    for number, given in enumerate(rows, start=1):
        row = _read_row(kind, given, f"{path.name}, row {number}")
        if row.code in read:
            raise WrongRow(f"{path.name}, row {number}: the code {row.code!r} stands twice")
        read[row.code] = row
    return tuple(read.values())


def _read_row(kind: str, given: Mapping[str, Any], where: str) -> FileRow:
    code, name = given.get("code"), given.get("name")
    if not isinstance(code, str) or not re.fullmatch(CODE_PATTERN, code) or len(code) > 60:
        raise WrongRow(
            f"{where}, field code: small letters, digits and single dashes are wanted, not {code!r}"
        )
    if not isinstance(name, str) or not 1 <= len(name) <= 120:
        raise WrongRow(f"{where} ({code}), field name: 1 to 120 characters are wanted")
    rest = {key: value for key, value in given.items() if key not in ("code", "name")}
    return FileRow(code, name, checked_values(kind, rest, f"{where} ({code})"))


def _check_codes(kind: str, path: Path) -> None:
    """Every code a row refers to must be a stored row."""
    for name, field in FIELDS[kind].items():
        if not isinstance(field, Codes):
            continue
        known = set(TABLES[field.kind].objects.values_list("code", flat=True))
        for row in TABLES[kind].objects.all():
            for code in row.values.get(name, []):
                if code not in known:
                    raise WrongRow(
                        f"{path.name}, row {row.code}, field {name}: there is no {field.kind} {code!r}"
                    )
