"""What a PDF page really draws: its paths in millimetres from the paper's upper left corner."""

import io
from dataclasses import dataclass

import numpy as np
import pikepdf

POINT = 25.4 / 72


@dataclass(frozen=True)
class Stroke:
    """End points of the path's segments, (n, 2) in mm, and whether it holds curves."""

    points: np.ndarray
    curved: bool

    @property
    def centre(self) -> np.ndarray:
        return (self.points.min(0) + self.points.max(0)) / 2

    @property
    def size(self) -> np.ndarray:
        return self.points.max(0) - self.points.min(0)


def _matrix(operands) -> np.ndarray:
    a, b, c, d, e, f = (float(v) for v in operands)
    return np.array([[a, b, 0], [c, d, 0], [e, f, 1]])


def _walk(owner, resources, matrix: np.ndarray, found: list[Stroke], height: float) -> None:
    stack: list[np.ndarray] = []
    points: list[np.ndarray] = []
    curved = False

    def place(x, y) -> np.ndarray:
        at = np.array([float(x), float(y), 1.0]) @ matrix
        return np.array([at[0] * POINT, (height - at[1]) * POINT])

    for operands, operator in pikepdf.parse_content_stream(owner):
        name = str(operator)
        if name == "q":
            stack.append(matrix)
        elif name == "Q":
            matrix = stack.pop()
        elif name == "cm":
            matrix = _matrix(operands) @ matrix
        elif name in ("m", "l"):
            points.append(place(*operands))
        elif name == "c":
            points.append(place(*operands[4:]))
            curved = True
        elif name == "re":
            x, y, w, h = (float(v) for v in operands)
            points += [place(x, y), place(x + w, y + h)]
        elif name in ("S", "s", "f", "f*", "B", "B*", "b", "n"):
            if points and name != "n":
                found.append(Stroke(np.array(points), curved))
            points, curved = [], False
        elif name == "Do":
            inner = resources.XObject[str(operands[0])]
            if inner.get("/Subtype") == "/Form":
                within = _matrix(inner.get("/Matrix", [1, 0, 0, 1, 0, 0])) @ matrix
                _walk(inner, inner.get("/Resources", resources), within, found, height)


def strokes(pdf: bytes, page: int = 0) -> list[Stroke]:
    """Every painted path of one page."""
    found: list[Stroke] = []
    with pikepdf.open(io.BytesIO(pdf)) as document:
        sheet = document.pages[page]
        _walk(sheet, sheet.Resources, np.eye(3), found, float(sheet.MediaBox[3]))
    return found


def page_sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height in mm of each page."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        return [(float(p.MediaBox[2]) * POINT, float(p.MediaBox[3]) * POINT) for p in document.pages]
