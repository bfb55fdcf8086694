"""Gathering the faults of one line while it is read."""

from dataclasses import dataclass, field

from programs.prescription.names import Candidate
from programs.prescription.notation.faults import WrittenFault
from programs.prescription.notation.lexer import Word


@dataclass(slots=True)
class Remarks:
    """The faults found so far, and the line being read: its number from 1, and its text as written."""

    faults: list[WrittenFault] = field(default_factory=list)
    line: int = 1
    written: str = ""
    _before: int = 0

    def begin(self, line: int, written: str) -> None:
        """Go on to another line."""
        self.line, self.written, self._before = line, written, len(self.faults)

    @property
    def spoilt(self) -> bool:
        """Whether something of the line being read was not read as written."""
        return any(fault.severity == "error" for fault in self.faults[self._before :])

    def error(self, at: Word | int, code: str, message: str, candidates: tuple[Candidate, ...] = ()) -> None:
        """Something was not read as written."""
        start = at if isinstance(at, int) else at.start
        self.faults.append(
            WrittenFault(
                line=self.line,
                column=start + 1,
                code=code,
                severity="error",
                message=message,
                candidates=candidates,
            )
        )

    def warning(self, at: Word, code: str, message: str) -> None:
        """Something was read otherwise than written."""
        self.faults.append(
            WrittenFault(line=self.line, column=at.start + 1, code=code, severity="warning", message=message)
        )

    def note(self, at: Word | int, code: str, message: str) -> None:
        """Something is worth saying about how the text was read."""
        start = at if isinstance(at, int) else at.start
        self.faults.append(WrittenFault(line=self.line, column=start + 1, code=code, severity="note", message=message))

    def raw(self, word: Word) -> str:
        """Give a word's characters as they were written."""
        return self.written[word.start : word.end]
