"""The one rounding of every stored quotient.

Sums are exact; a quotient, mean or root is rounded once, half to even, to six places, and the SQL that computes the
same figures uses a function of the same name and rule. So a week computed twice is equal to the last digit.
"""

from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction

from logs.analysis.constants import CLOCK_MINUTE_PLACES, QUOTIENT_PLACES, ROOT_DIGITS


def round_half_even_6(value: Decimal | Fraction) -> Decimal:
    """Round to six places, half to even.

    Args:
        value: Any finite exact value.

    Returns:
        A Decimal with exactly six places.

    Source: practice.
    """
    return _rounded(Fraction(value), QUOTIENT_PLACES)


def clock_minutes(seconds: Decimal | Fraction) -> Decimal:
    """Turn seconds on the clock into minutes, to two places, half to even, as declared minutes are kept.

    Args:
        seconds: Seconds between two instants.

    Returns:
        Minutes with exactly two places.

    Source: practice.
    """
    return _rounded(Fraction(seconds) / 60, CLOCK_MINUTE_PLACES)


def square_root(value: Fraction) -> Decimal:
    """Take a root to far more digits than are kept, so that rounding it to six places is safe.

    Args:
        value: A number of 0 or more.

    Returns:
        The root to 50 significant digits.

    Source: practice.
    """
    context = Context(prec=ROOT_DIGITS)
    return context.sqrt(context.divide(Decimal(value.numerator), Decimal(value.denominator)))


def _rounded(value: Fraction, places: int) -> Decimal:
    # Fraction.__round__ is exact and rounds half to even; a Decimal division first could create a false tie.
    return Decimal(round(value * 10**places)).scaleb(-places, Context(prec=ROOT_DIGITS, rounding=ROUND_HALF_EVEN))
