"""The rules of the house, proved: imports and foreign keys go one way, pure code is pure, heavy libraries stay out."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest
from django.apps import apps
from django.core.management import call_command
from importlinter.cli import lint_imports

ROOT = Path(__file__).resolve().parent.parent
LAYERS = ["quoting", "orders", "portal"]
PURE = ["quoting/propeller", "quoting/pricing", "quoting/leadtime", "quoting/estimate.py"]
HEAVY = [
    "scipy",
    "trimesh",
    "manifold3d",
    "shapely",
    "networkx",
    "ezdxf",
    "numba",
    "typst",
    "ortools",
    "simpy",
]


def python_files(*places: str) -> list[Path]:
    found: list[Path] = []
    for place in places:
        path = ROOT / place
        found += [path] if path.is_file() else sorted(path.rglob("*.py"))
    return found


def fresh_interpreter(program: str) -> str:
    run = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert run.returncode == 0, run.stderr
    return run.stdout


def test_imports_follow_the_layers() -> None:
    assert lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True) == 0


def test_foreign_keys_point_down_the_layers() -> None:
    upward = [
        f"{model._meta.label}.{field.name}"
        for label in LAYERS
        for model in apps.get_app_config(label).get_models()
        for field in model._meta.get_fields()
        if field.is_relation and field.concrete and field.related_model
        and field.related_model._meta.app_label in LAYERS
        and LAYERS.index(field.related_model._meta.app_label) > LAYERS.index(label)
    ]  # fmt: skip
    assert upward == []


def test_the_estimate_imports_no_django_and_no_numba() -> None:
    loaded = fresh_interpreter("import quoting.estimate, sys; print(' '.join(sys.modules))").split()
    assert "quoting.pricing.price" in loaded
    assert [name for name in loaded if name.split(".")[0] in ("django", "numba", "celery", "stripe")] == []


TABLE_READERS = ("planform.py", "polars.py")
"""They read the published tables that come with the package, once."""


@pytest.mark.parametrize("path", python_files(*PURE), ids=lambda p: str(p.relative_to(ROOT)))
def test_pure_code_reads_no_clock_and_opens_no_file(path: Path) -> None:
    clocks = {
        "time.time",
        "time.monotonic",
        "time.perf_counter",
        "date.today",
        "datetime.now",
        "datetime.today",
    }
    calls = [
        ast.unparse(node.func) for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Call)
    ]
    files = (
        "read_text",
        "read_bytes",
        "write_text",
        "write_bytes",
        "loadtxt",
        "savetxt",
        "fromfile",
        "tofile",
    )
    by_name = {"open", "input", "np.load", "np.save", "np.savez"}
    if path.name not in TABLE_READERS:
        assert [c for c in calls if c in by_name or c.rsplit(".", 1)[-1] in files] == []
    assert [c for c in calls if c.removeprefix("datetime.") in clocks] == []


def test_starting_the_web_application_loads_no_heavy_library() -> None:
    loaded = fresh_interpreter(
        "import sys, config.wsgi\n"
        "from django.urls import get_resolver\n"
        "get_resolver().url_patterns\n"
        "import portal.urls, orders.desk.urls\n"
        "print(' '.join({name.split('.')[0] for name in sys.modules}))"
    ).split()
    assert "django" in loaded
    assert [name for name in HEAVY if name in loaded] == []


def test_imports_stand_at_the_top_of_a_file() -> None:
    inside = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in python_files("quoting", "orders", "portal", "config", "demo")
        if "migrations" not in path.parts
        for function in ast.walk(ast.parse(path.read_text()))
        if isinstance(function, (ast.FunctionDef, ast.AsyncFunctionDef))
        for node in ast.walk(function)
        if isinstance(node, (ast.Import, ast.ImportFrom))
    ]
    assert inside == []


def test_every_file_says_in_its_first_line_what_lives_there() -> None:
    silent = [
        str(path.relative_to(ROOT))
        for path in python_files("quoting", "orders", "portal", "config", "demo", "standin")
        if "migrations" not in path.parts
        and path.read_text().strip()
        and not ast.get_docstring(ast.parse(path.read_text()))
    ]
    assert silent == []


def test_no_decimal_field_holds_money() -> None:
    decimals = [
        f"{model._meta.label}.{field.name}"
        for label in LAYERS
        for model in apps.get_app_config(label).get_models()
        for field in model._meta.get_fields()
        if field.concrete and field.get_internal_type() == "DecimalField"
    ]
    assert decimals == []


def test_the_migrations_match_the_models(db: None) -> None:
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


ROW_WRITERS = ("save", "create", "bulk_create", "bulk_update", "get_or_create", "update_or_create")
ROWS = (".objects", ".filter(", ".exclude(", ".all(")


def writes_rows(call: ast.Call) -> bool:
    """Whether a call writes rows: by a manager, a query set or a model's own save."""
    if not isinstance(call.func, ast.Attribute):
        return False
    name, of = call.func.attr, ast.unparse(call.func.value)
    if name in ("update", "delete"):
        return any(part in of for part in ROWS)
    return name in ROW_WRITERS and not (
        name == "save" and call.args
    )  # a picture written to a buffer, not a row


def test_rows_are_written_in_services_only() -> None:
    writers = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in python_files("orders", "portal", "quoting", "demo")
        if not {"services", "migrations", "management", "models"} & set(path.parts)
        and path.relative_to(ROOT) != Path("demo/history.py")  # puts its own papers' jobs behind the others
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call) and writes_rows(node)
    ]
    assert writers == []


def test_no_test_only_door_of_the_payment_library_is_used() -> None:
    word = "construct_event_" + "without_verification"
    assert [p for p in python_files("orders", "portal", "quoting", "config") if word in p.read_text()] == []
