"""Works out written arithmetic with exact fractions: the expected side of the price cases, using nothing of ours."""

import ast
import math
import re
from fractions import Fraction


def half_up(value: Fraction, digits: Fraction = Fraction(0)) -> Fraction:
    """Halves away from zero."""
    unit = Fraction(10) ** int(digits)
    rounded = math.floor(abs(value) * unit + Fraction(1, 2)) / unit
    return -rounded if value < 0 else rounded


def floor(value: Fraction, digits: Fraction = Fraction(0)) -> Fraction:
    unit = Fraction(10) ** int(digits)
    return math.floor(value * unit) / unit


FUNCTIONS = {"half_up": half_up, "floor": floor, "max": max, "min": min}


def work_out(written: str, names: dict[str, Fraction]) -> Fraction:
    """The value of an expression of numbers, names, + - * / and half_up, floor, max, min."""
    return _value(ast.parse(written.strip(), mode="eval").body, written.strip(), names)


def name_of(key: str) -> str:
    return re.sub(r"[^a-z0-9]", "_", key.lower())


def _value(node: ast.expr, written: str, names: dict[str, Fraction]) -> Fraction:
    match node:
        case ast.Constant():
            return Fraction(ast.get_source_segment(written, node) or "")
        case ast.Name(id=name):
            return names[name]
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(operand, written, names)
        case ast.BinOp(left=left, op=op, right=right):
            return _join(op, _value(left, written, names), _value(right, written, names))
        case ast.Call(func=ast.Name(id=function), args=args):
            return FUNCTIONS[function](*(_value(a, written, names) for a in args))
    raise ValueError(f"not plain arithmetic: {written}")


def _join(op: ast.operator, left: Fraction, right: Fraction) -> Fraction:
    match op:
        case ast.Add():
            return left + right
        case ast.Sub():
            return left - right
        case ast.Mult():
            return left * right
        case ast.Div():
            return left / right
    raise ValueError("not plain arithmetic")
