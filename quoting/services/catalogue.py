"""The catalogue as frozen values: rows are read once per process, and again when the catalogue's stamp has changed.

Whoever writes catalogue rows calls `renew_stamp` in the same transaction; `save_row` does both.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from threading import Lock
from typing import Any, cast

from django.db import transaction

from quoting import models
from quoting.models import CatalogueRow, CatalogueStamp, EnteredBy
from quoting.models.catalogue import new_stamp
from quoting.propeller.catalogue import Airframe, EdgeGuard, Engine, Finish, Glue, HubPattern, Timber
from quoting.propeller.figure import Figure, Trust
from quoting.services.catalogue_fields import FIELDS, PURE, Amount, Codes, Curve, Field, OneOf, checked_values

TABLES: dict[str, type[CatalogueRow]] = {
    "timber": models.Timber,
    "hub_pattern": models.HubPattern,
    "engine": models.Engine,
    "airframe": models.Airframe,
    "glue": models.Glue,
    "finish": models.Finish,
    "edge_guard": models.EdgeGuard,
    "tip_form": models.TipForm,
}
"""By kind, in an order in which every code refers to rows of earlier kinds."""


@dataclass(frozen=True, slots=True)
class TipFormRow:
    """A tip form in words; `code` is the value of the pure `TipForm`."""

    code: str
    name: str
    remark: str


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Every offered row by code, in the order it is shown."""

    timbers: Mapping[str, Timber]
    hub_patterns: Mapping[str, HubPattern]
    engines: Mapping[str, Engine]
    airframes: Mapping[str, Airframe]
    glues: Mapping[str, Glue]
    finishes: Mapping[str, Finish]
    edge_guards: Mapping[str, EdgeGuard]
    tip_forms: Mapping[str, TipFormRow]


_lock = Lock()
_held: tuple[str, Catalogue] | None = None


def catalogue() -> Catalogue:
    """The offered rows as frozen values; one query when nothing has changed."""
    global _held
    stamp = CatalogueStamp.objects.values_list("stamp", flat=True).first()
    held = _held
    if stamp is not None and held is not None and held[0] == stamp:
        return held[1]
    read = _read()
    if stamp is not None:
        with _lock:
            _held = (stamp, read)
    return read


def renew_stamp() -> None:
    """Tell every process, once this transaction is through, that the catalogue has changed."""
    if not CatalogueStamp.objects.update(stamp=new_stamp()):
        CatalogueStamp.objects.create()


@transaction.atomic
def save_row(row: CatalogueRow) -> None:
    """Check and store one row as the owner's, left alone by loading; raises `WrongRow` naming the field."""
    kind = next(kind for kind, table in TABLES.items() if isinstance(row, table))
    row.values = checked_values(kind, row.values, f"{kind} {row.code}")
    row.entered_by = EnteredBy.OWNER
    row.save()
    renew_stamp()


def frozen(kind: str, row: CatalogueRow) -> Any:
    """One row as the pure dataclass of its kind."""
    values = {name: _value(field, row.values.get(name)) for name, field in FIELDS[kind].items()}
    return PURE.get(kind, TipFormRow)(code=row.code, name=row.name, **values)


def with_engine_names(
    airframes: Mapping[str, Airframe], engines: Mapping[str, Engine]
) -> dict[str, Airframe]:
    """The airframes with the names of their usual engines, for findings that stand without the catalogue."""
    named = {
        code: tuple(engines[engine].name for engine in frame.usual_engine_codes if engine in engines)
        for code, frame in airframes.items()
    }
    return {code: replace(frame, usual_engine_names=named[code]) for code, frame in airframes.items()}


def _read() -> Catalogue:
    kinds = {kind: _rows(kind) for kind in TABLES}
    engines = cast("dict[str, Engine]", kinds["engine"])
    return Catalogue(
        timbers=cast("dict[str, Timber]", kinds["timber"]),
        hub_patterns=cast("dict[str, HubPattern]", kinds["hub_pattern"]),
        engines=engines,
        airframes=with_engine_names(cast("dict[str, Airframe]", kinds["airframe"]), engines),
        glues=cast("dict[str, Glue]", kinds["glue"]),
        finishes=cast("dict[str, Finish]", kinds["finish"]),
        edge_guards=cast("dict[str, EdgeGuard]", kinds["edge_guard"]),
        tip_forms=cast("dict[str, TipFormRow]", kinds["tip_form"]),
    )


def _rows(kind: str) -> dict[str, Any]:
    return {row.code: frozen(kind, row) for row in TABLES[kind].objects.filter(offered=True)}


def _value(field: Field, stored: Any) -> Any:
    match field:
        case Amount() if stored is not None:
            return Figure(stored["value"], Trust(stored["trust"]), stored["source"])
        case OneOf(kind) if stored is not None:
            return kind(stored)
        case Codes():
            return tuple(stored or ())
        case Curve():
            return tuple((speed, power) for speed, power in stored or ())
    return stored
