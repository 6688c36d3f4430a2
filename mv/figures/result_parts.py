"""Reading result.json without stumbling: the base's, under the name the figures use."""

from mv.base.result_parts import Result, estimate, part, rows, why_not

__all__ = ["Result", "estimate", "part", "rows", "why_not"]
