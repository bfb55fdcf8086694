"""Written sessions: the notation that the trade writes, read into the structure and printed back.

Reading and printing are inverse: whatever `programs.prescription.document` admits can be printed, and reads back equal.
"""

from programs.prescription.notation.faults import WrittenFault
from programs.prescription.notation.parser import ParseResult, parse_session
from programs.prescription.notation.printer import print_session

__all__ = ["ParseResult", "WrittenFault", "parse_session", "print_session"]
