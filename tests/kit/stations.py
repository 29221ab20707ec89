"""Bare service stations for the engine: no calendar, whole minutes, one queue per station."""

import numpy as np

from quoting.leadtime.engine import Layout

UNIT = 10_000  # minutes that stand for one unit of service time


def stations(servers: list[int], visits: list[int], customers: int, rank: np.ndarray | None = None) -> Layout:
    """`servers` per station; every customer visits the stations `visits` in turn; gate n lets customer n in."""
    masks, used = [], 0
    for count in servers:
        masks.append(((1 << count) - 1) << used)
        used += count
    ints, length, q = np.int64, len(visits), len(servers)
    gate = np.full((customers, length), -1, ints)
    gate[:, 0] = np.arange(customers)
    order = np.arange(customers, dtype=ints) if rank is None else rank.astype(ints)
    return Layout(
        shifts=np.zeros((used, 7, 1, 2), ints),
        shift_count=np.zeros((used, 7), ints),
        round_the_clock=1,
        queue_people=np.array(masks, ints),
        queue_machines=np.zeros(q, ints),
        queue_rack=np.full(q, -1, ints),
        capacity=np.zeros(1, ints),
        first=np.arange(customers + 1, dtype=ints) * length,
        queue=np.tile(np.array(visits, ints), customers),
        wait=np.zeros(customers * length, ints),
        gate=gate.ravel(),
        rank=np.repeat(order, length),
        turn=np.full(customers * length, -1, ints),
        strict=0,
        enters=np.ones(customers, ints),
        counted=np.ones(customers, ints),
        begun=np.empty(0, ints),
    )
