"""Heaps of whole numbers, compiled: several may lie one behind the other in one array, each from its own `base`."""
# mypy: disable-error-code="untyped-decorator,misc,no-untyped-def,no-untyped-call,assignment"
# The kernels' types are inferred by the compiler, not written.

from numba import njit


@njit(cache=True, nogil=True)
def push(heap, base, size, key):
    """Add a key to the heap of `size` keys; returns its new size."""
    i = size
    while i > 0:
        parent = (i - 1) >> 1
        above = heap[base + parent]
        if above <= key:
            break
        heap[base + i] = above
        i = parent
    heap[base + i] = key
    return size + 1


@njit(cache=True, nogil=True)
def pop(heap, base, size):
    """Take the smallest key out of a heap of `size` > 0 keys and return it."""
    top = heap[base]
    size -= 1
    key = heap[base + size]
    i = 0
    while True:
        child = 2 * i + 1
        if child >= size:
            break
        smallest = heap[base + child]
        if child + 1 < size and heap[base + child + 1] < smallest:
            child += 1
            smallest = heap[base + child]
        if smallest >= key:
            break
        heap[base + i] = smallest
        i = child
    heap[base + i] = key
    return top


@njit(cache=True, nogil=True)
def remove(heap, base, size, place):
    """Take the key at `place` out of the middle of a heap of `size` keys and return it."""
    taken = heap[base + place]
    i = place
    # lift it to the top past its parents, then pop it
    while i > 0:
        parent = (i - 1) >> 1
        heap[base + i] = heap[base + parent]
        i = parent
    heap[base] = taken
    pop(heap, base, size)
    return taken
