"""By what two failures are taken for one: the kind of error, and the place in our code."""

import re
import traceback


def signature(error: BaseException) -> str:
    """
    Name a failure by its kind and the innermost function of ours that it came through.

    Examples
    --------
    >>> signature(ValueError("x"))
    'ValueError'
    """
    places = [
        f"{re.sub(r'.*/lapwright/', '', frame.filename)}:{frame.name}"
        for frame in traceback.extract_tb(error.__traceback__)
        if "/lapwright/" in frame.filename
    ]
    kind = type(error).__name__
    if kind == "BrokenPromise":
        # Which promise; the figures in it differ from time to time.
        kind = f"BrokenPromise {str(error).partition(':')[0]}"
    return " in ".join([kind, *places[-1:]])
