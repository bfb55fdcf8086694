"""Free text inside a written session: as it stands where that is safe, else in quotation marks with escapes."""

from typing import Final

from programs.prescription.notation.characters import plain

_ESCAPE: Final = "\\"
_MARKS: Final = frozenset('"\\{}')
_LAST_CODE_POINT: Final = 0x10FFFF
_HEXADECIMAL_DIGITS: Final = frozenset("0123456789abcdefABCDEF")


def stands_as_written(text: str) -> bool:
    """Say whether text at the end of a line reads back equal without quotation marks."""
    return text.isprintable() and text == text.strip() and not plain(text).startswith('"')


def escaped(text: str) -> str:
    """Give text for the inside of quotation marks or braces, on one line."""
    return "".join(_written(character) for character in text)


def quoted(text: str) -> str:
    """Give text in quotation marks, on one line."""
    return f'"{escaped(text)}"'


def unescaped(text: str) -> str:
    """Read the inside of quotation marks or braces; a broken escape stands for itself."""
    if _ESCAPE not in plain(text):
        return text
    read: list[str] = []
    place = 0
    while place < len(text):
        character, place = _read(text, place)
        read.append(character)
    return "".join(read)


def unquoted(text: str) -> str:
    """Read text that may stand in plain quotation marks; any other text is given back as it is."""
    least = 2
    if len(text) >= least and text[0] == text[-1] == '"':
        return unescaped(text[1:-1])
    return text


def _written(character: str) -> str:
    if character in _MARKS:
        return _ESCAPE + character
    if plain(character) in _MARKS or not character.isprintable():
        return f"\\u({ord(character):x})"
    return character


def _read(text: str, place: int) -> tuple[str, int]:
    if plain(text[place]) != _ESCAPE or place + 1 == len(text):
        return text[place], place + 1
    if text.startswith("u(", place + 1):
        end = text.find(")", place, place + len("\\u(10ffff)"))
        code = _code_point(text[place + 3 : end]) if end > 0 else None
        if code is not None:
            return chr(code), end + 1
    return text[place + 1], place + 2


def _code_point(digits: str) -> int | None:
    if not digits or not set(digits) <= _HEXADECIMAL_DIGITS:
        return None
    code = int(digits, base=16)
    return code if code <= _LAST_CODE_POINT else None
