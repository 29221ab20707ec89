"""Compiles and loads the engine before anybody waits for it; run once when a worker starts."""

from datetime import date

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.forecast import forecast
from quoting.leadtime.plan import plan
from quoting.leadtime.queue import QueuedOrder, Task
from quoting.leadtime.shop import Machine, Person, Rack, Shop, StageType


def warm() -> None:
    """Run a one-order forecast and a plan of it, so that every kernel they need is compiled."""
    week = (((480, 960),),) * 5 + ((), ())
    shop = Shop(
        epoch=date(2024, 1, 1),
        timezone="UTC",
        persons=(Person("one", "One", frozenset({"carving"}), week),),
        machines=(Machine("bench", "Bench"),),
        racks=(Rack("hooks", "Hooks", 1),),
        stages=(StageType("sand", "Sand", "carving", "bench", "hooks"),),
    )
    order = QueuedOrder(1, "warm", 0, (Task("sand", 60, 60),))
    forecast(shop, (order,), Calibration(), now_minute=480, futures=2)
    plan(shop, (order,), Calibration(), now_minute=480, decodes=2)
