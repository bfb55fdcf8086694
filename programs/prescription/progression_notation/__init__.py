"""Written progressions: rules as a coach writes them beside a session, read into rules and printed back.

One rule on a line. Reading and printing are inverse.
"""

from programs.prescription.progression_notation.printing import print_progression
from programs.prescription.progression_notation.reading import ReadProgression, parse_progression

__all__ = ["ReadProgression", "parse_progression", "print_progression"]
