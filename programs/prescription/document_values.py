"""What every part of a prescription's JSON document is made of: plain decimals, text, keys, and the part itself."""

import re
from decimal import Decimal
from typing import Annotated, Final

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StrictStr
from pydantic_core import PydanticCustomError

from programs.prescription.constants import KEY_MAX_CHARACTERS

_DECIMAL: Final = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{1,6})?")
"""What a decimal may look like in text. Practice."""


def _decimal(value: object) -> object:
    if isinstance(value, bool) or not isinstance(value, int | float | str | Decimal):
        raise PydanticCustomError("wrong_type", 'Send a number, or a number as text such as "82.5".')
    text = str(value).strip()
    if not _DECIMAL.fullmatch(text):
        raise PydanticCustomError("wrong_type", "Send a plain decimal number with a point, such as 82.5.")
    return Decimal(text)


def _text(value: object) -> object:
    if not isinstance(value, str):
        return value
    if "\x00" in value:
        raise PydanticCustomError("wrong_type", "Take the NUL character out of the text.")
    try:
        value.encode()
    except UnicodeEncodeError as error:
        raise PydanticCustomError("wrong_type", "Send text that is valid Unicode.") from error
    return value


DocumentDecimal = Annotated[Decimal, BeforeValidator(_decimal)]
DocumentText = Annotated[StrictStr, BeforeValidator(_text)]
TemplateKey = Annotated[
    StrictStr, Field(min_length=1, max_length=KEY_MAX_CHARACTERS, pattern=r"\A[a-z0-9]+(-[a-z0-9]+)*\z")
]
SlotKey = Annotated[
    StrictStr, Field(min_length=1, max_length=KEY_MAX_CHARACTERS, pattern=r"\A[A-Za-z0-9][A-Za-z0-9._-]*\z")
]


class DocumentPart(BaseModel):
    """A part of a document; a field it does not know is refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)
