"""The command draws a stored quote or a file of fields, leaves nothing half-made and says what it left out."""

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from quoting.services.catalogue_load import load_catalogue
from quoting.services.estimating import live_estimate
from quoting.services.quotes import draft_quote
from tests.quoting.books import FOLDER, TODAY, set_up_shop

pytestmark = pytest.mark.django_db

SOUND = {
    "airframe": "piper-j-3c-65",
    "engine": "continental-a65-8f",
    "hub": "sae-1",
    "diameter": "72",
    "pitch": "44",
    "timber": "yellow-birch",
    "country": "DE",
}
ALL = {
    "drawing.svg",
    "drawing.pdf",
    "power.svg",
    "thrust.svg",
    "sizes.svg",
    "stress.svg",
    "drill-template.pdf",
    "drill-template.dxf",
    "station-templates.pdf",
    "station-templates.dxf",
    "mock-up.glb",
    "mock-up.png",
    "solid.stl",
}


@pytest.fixture(autouse=True)
def shop() -> None:
    load_catalogue(FOLDER)
    set_up_shop()


def drawn(subject: object, into: Path, **options: object) -> str:
    said = StringIO()
    call_command("drawing", str(subject), into=into, stdout=said, stderr=said, **options)
    return said.getvalue()


def asked(tmp_path: Path, **changes: str) -> Path:
    file = tmp_path / "wish.json"
    file.write_text(json.dumps({**SOUND, **changes}))
    return file


def test_a_file_of_fields_gives_every_drawing(tmp_path):
    drawn(asked(tmp_path), tmp_path / "out")
    assert {file.name for file in (tmp_path / "out").iterdir()} == ALL
    assert (tmp_path / "out" / "drawing.pdf").read_bytes().startswith(b"%PDF")
    assert (tmp_path / "out" / "mock-up.glb").read_bytes().startswith(b"glTF")


def test_a_stored_quote_is_drawn_with_its_number_and_revision(tmp_path):
    answer = live_estimate(SOUND, today=TODAY)
    quote = draft_quote(answer.estimate, typed=SOUND, today=TODAY)
    drawn(quote.series.number, tmp_path)
    assert quote.series.number in (tmp_path / "drawing.svg").read_text()


def test_a_quote_that_is_not_stored_and_a_file_that_is_no_object_are_refused(tmp_path):
    with pytest.raises(CommandError, match="no quote Q-0"):
        drawn("Q-0", tmp_path / "out")
    file = tmp_path / "list.json"
    file.write_text("[1]")
    with pytest.raises(CommandError, match="one object"):
        drawn(file, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_fields_that_need_mending_are_named_and_nothing_is_written(tmp_path):
    with pytest.raises(CommandError, match="diameter"):
        drawn(asked(tmp_path, diameter="seventy"), tmp_path / "out")
    assert not (tmp_path / "out").exists()
