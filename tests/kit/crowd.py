"""Many threads through one door at once."""

from collections.abc import Callable
from threading import Barrier, Thread
from typing import Any

from django.db import connections


def at_once(count: int, act: Callable[[int], Any]) -> list[Any]:
    """Run `act(n)` in so many threads that start together; the results, an exception standing for itself."""
    barrier, results = Barrier(count), [None] * count

    def one(n: int) -> None:
        barrier.wait()
        try:
            results[n] = act(n)
        except Exception as error:
            results[n] = error
        finally:
            connections.close_all()

    threads = [Thread(target=one, args=(n,)) for n in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return results
