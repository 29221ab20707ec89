"""Compute the Clark-Y family polar table with an airfoil library and write quoting/propeller/tables/polars.npz.

Run at development time only, where NeuralFoil (pip install neuralfoil), numpy and scipy are installed:

    PYTHONPATH=. python tools/compute_polars.py

Nothing at run time needs the library. Angles are to the section's chord line; values are the library's own, free
of calibration: largest network, transition forced at a tenth of the chord on both surfaces (an edge guard, seams,
insects and brush varnish leave no long laminar run).
"""

import sys
from pathlib import Path

import neuralfoil
import numpy as np

from quoting.propeller.sections import PITCH_AXIS, outline

TARGET = Path("quoting/propeller/tables/polars.npz")
ALPHA_DEG = np.arange(-30.0, 31.0)
THICKNESS = np.array([0.06, 0.08, 0.10, 0.12, 0.15, 0.19, 0.24, 0.30])
TRANSITION = 0.1
LOG10_REYNOLDS = np.array([3.9, 4.2, 4.5, 4.8, 5.1, 5.4, 5.7, 6.0, 6.3, 6.6])


def coordinates(t_c: float) -> np.ndarray:
    """Outline on its chord line, unit chord, from the trailing edge over the back."""
    points = outline(1.0, t_c)
    points[:, 0] += PITCH_AXIS
    nose, tail = points[32], 0.5 * (points[0] + points[-1])
    along = (tail - nose) / np.hypot(*(tail - nose))
    turned = (points - nose) @ np.column_stack([along, [-along[1], along[0]]])
    return turned / np.hypot(*(tail - nose))


def polar(t_c: float) -> tuple[np.ndarray, np.ndarray]:
    """Lift and drag coefficients, shape (Reynolds, alpha), of the section of this thickness ratio."""
    alpha, log_re = np.meshgrid(ALPHA_DEG, LOG10_REYNOLDS)
    result = neuralfoil.get_aero_from_coordinates(
        coordinates(t_c),
        alpha=alpha.ravel(),
        Re=10 ** log_re.ravel(),
        n_crit=6.0,
        xtr_upper=TRANSITION,
        xtr_lower=TRANSITION,
        model_size="xlarge",
    )
    return result["CL"].reshape(alpha.shape), result["CD"].reshape(alpha.shape)


def main() -> int:
    lift, drag = (np.stack(table) for table in zip(*(polar(t) for t in THICKNESS), strict=True))
    np.savez_compressed(
        TARGET,
        alpha_deg=ALPHA_DEG,
        t_c=THICKNESS,
        log10_reynolds=LOG10_REYNOLDS,
        lift=np.round(lift, 5),
        drag=np.round(drag, 6),
    )
    print(f"{TARGET}: {lift.size} points")
    return 0


if __name__ == "__main__":
    sys.exit(main())
