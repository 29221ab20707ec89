"""The solve command: a published case through the command line, and bad files told at their line."""

import csv
import io
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from tests.validation.row import DATA, table

BLADE = "r_R,c_R,beta_deg,t_c\n0.2,0.07,36,0.4\n0.5,0.15,22,0.12\n0.75,0.12,15,0.09\n1,0.06,11.7,0.07\n"
POINTS = "V_m_s,rpm\n0,1000\n20,1000\n"


@pytest.fixture
def write(tmp_path):
    def file(name: str, text: str) -> Path:
        (tmp_path / name).write_text(text, encoding="utf-8")
        return tmp_path / name

    return file


def _answer(*args, **options):
    out = io.StringIO()
    call_command("solve", *args, stdout=out, **options)
    return list(csv.DictReader(io.StringIO(out.getvalue())))


def test_a_published_regression_case_comes_out_of_the_command_line(write):
    rows = [
        f"{float(r['radius_in']) / 3},{float(r['chord_in']) / 3},{r['angle_deg']},0.12"
        for r in table("solver_blade.csv")
    ]
    blade = write("blade.csv", "\n".join(["r_R,c_R,beta_deg,t_c", *rows]))
    published = table("solver_result.csv")
    points = write("points.csv", "\n".join(["J", *(r["advance_ratio"] for r in published)]))
    polar_rows = [f"{r['alpha_deg']},{r['lift']},{r['drag']}" for r in table("solver_polar.csv")]
    polar = write("polar.csv", "\n".join(["alpha_deg,cl,cd", *polar_rows]))
    answers = _answer(
        blade,
        points,
        polar=polar,
        diameter=0.1524,
        hub_radius=0.0127,
        angles="chord",
        rpm=8000,
        own_stations=True,
    )
    for ours, theirs in zip(answers, published, strict=True):
        assert float(ours["C_T"]) == pytest.approx(float(theirs["thrust_coefficient"]), rel=0.005)
        assert float(ours["C_P"]) == pytest.approx(float(theirs["power_coefficient"]), rel=0.005)


def test_loads_are_printed_station_by_station(write):
    answers = _answer(write("b.csv", BLADE), write("p.csv", POINTS), diameter=3.0, loads=True)
    assert len(answers) == 2 * 14
    assert all(float(row["thrust_N_per_m"]) > 0 for row in answers)


def test_density_given_scales_thrust(write):
    blade = write("b.csv", BLADE)
    sea, high = (write(f"{rho}.csv", f"V_m_s,rpm,rho\n0,1000,{rho}\n") for rho in (1.225, 1.1))
    ratio = float(_answer(blade, high, diameter=3.0)[0]["thrust_N"]) / float(
        _answer(blade, sea, diameter=3.0)[0]["thrust_N"]
    )
    assert ratio == pytest.approx(1.1 / 1.225, rel=0.01)


@pytest.mark.parametrize(
    ("message", "blade", "points", "diameter"),
    [
        (r"b\.csv: line 4, column t_c: 'nine' is not a number", BLADE.replace("0.09", "nine"), POINTS, 3.0),
        (r"b\.csv: c_R: line 3: 15 given, accepted are 0 to 1", BLADE.replace("0.15", "15"), POINTS, 3.0),
        (r"b\.csv: r_R: line 5: stations must rise", BLADE.replace("1,0.06", "0.7,0.06"), POINTS, 3.0),
        (r"b\.csv: diameter: -3 given", BLADE, POINTS, -3.0),
        (r"p\.csv: line 3, column V_m_s: -20 given", BLADE, POINTS.replace("20", "-20"), 3.0),
        (r"p\.csv: give column V_m_s or column J", BLADE, "rpm\n1000\n", 3.0),
        (r"p\.csv: column rpm is missing", BLADE, "J\n0.5\n", 3.0),
        (r"p\.csv: line 2, column rpm: 0 given, accepted are more than 0", BLADE, "V_m_s,rpm\n10,0\n", 3.0),
        (r"p\.csv: line 2, column J: 1e\+09 given", BLADE, "J,rpm\n1e9,1000\n", 3.0),
        (r"p\.csv: line 2, column rho: 0 given", BLADE, "J,rpm,rho\n0.5,1000,0\n", 3.0),
        (r"p\.csv: line 2: 3 values for 2 columns", BLADE, "J,rpm\n0,5,1000\n", 3.0),
        (r"p\.csv: tip speed: line 2: helical tip Mach", BLADE, "V_m_s,rpm\n10,9000\n", 3.0),
    ],
)
def test_a_bad_file_is_told_at_its_line(write, message, blade, points, diameter):
    with pytest.raises(CommandError, match=message):
        _answer(write("b.csv", blade), write("p.csv", points), diameter=diameter)


POLAR = "alpha_deg,cl,cd\n-10,-0.5,0.03\n-5,0,0.011\n0,0.4,0.009\n5,0.9,0.011\n10,1.3,0.017\n15,1.5,0.04\n"
FILES = {"b.csv": BLADE, "p.csv": "V_m_s,rpm,rho\n20,1000,1.2\n", "l.csv": POLAR}
BAD = ("nan", "inf", "-1", "0", "1e9", "", "x", "1,5", '"')
PLACES = [
    (name, place) for name, text in FILES.items() for place in range(len(text.split("\n")[1].split(",")))
]


@pytest.mark.parametrize(("name", "place"), PLACES)
def test_whatever_stands_in_a_cell_is_computed_or_told_at_its_file_and_line(write, name, place):
    lines = FILES[name].split("\n")
    for value in BAD:
        cells = lines[1].split(",")
        cells[place] = value
        spoilt = FILES | {name: "\n".join([lines[0], ",".join(cells), *lines[2:]])}
        blade, points, polar = (write(file, text) for file, text in spoilt.items())
        try:
            (answer,) = _answer(blade, points, polar=polar, diameter=3.0)
        except CommandError as told:
            assert name in str(told)
        else:
            assert abs(float(answer["C_T"])) < 1
            assert 0 < float(answer["C_P"]) < 1
            assert float(answer["efficiency"]) < 1


@pytest.mark.parametrize("value", [-1.0, 0.0, 1e9, float("nan"), float("inf")])
def test_a_bad_option_is_told_by_its_name(write, value):
    blade, points = write("b.csv", BLADE), write("p.csv", "J\n0.5\n")
    with pytest.raises(CommandError, match="diameter"):
        _answer(blade, points, diameter=value, rpm=1000)
    with pytest.raises(CommandError, match="--hub-radius"):
        _answer(blade, points, diameter=3.0, rpm=1000, hub_radius=value)
    with pytest.raises(CommandError, match="--rpm"):
        _answer(blade, points, diameter=3.0, rpm=value)


def test_a_missing_or_binary_file_is_told_by_name(write, tmp_path):
    with pytest.raises(CommandError, match="No such file"):
        _answer(tmp_path / "none.csv", write("p.csv", POINTS), diameter=3.0)
    (tmp_path / "b.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(CommandError, match="is not UTF-8 text"):
        _answer(tmp_path / "b.csv", write("p.csv", POINTS), diameter=3.0)


def test_the_data_files_of_the_comparisons_name_their_sources():
    for file in DATA.glob("*.csv"):
        assert file.read_text(encoding="utf-8").startswith("# ")
