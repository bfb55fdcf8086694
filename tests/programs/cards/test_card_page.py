"""The page of a card."""

from base64 import b64encode
from dataclasses import replace
from hashlib import sha256
from html.parser import HTMLParser

from programs.documents.card_page import card_page
from tests.programs.cards.card_cast import card, catalogue, full_session

HOSTILE = "<script>alert('x')</script> & \"quoted\" {{ card }} שלום 日本 \U0001f600"


class Read(HTMLParser):
    """Collects tags, attributes and text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""
        self.styles = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        if self.tags[-1:] == ["style"] and not self.styles:
            self.styles = data
        else:
            self.text += data


def test_what_people_write_is_text_and_never_markup() -> None:
    blocks = full_session()
    blocks[0]["slots"][0]["notes"] = HOSTILE
    named = {"back-squat": replace(catalogue()["back-squat"], name=HOSTILE)}
    read = Read(
        card_page(card(*blocks, exercises=named, client_name=HOSTILE, title=HOSTILE, business_name=HOSTILE)).html
    )
    assert "script" not in read.tags
    # Business, title, name, exercise and note, and the title of the window.
    assert read.text.count(HOSTILE) == 7


def test_the_page_stands_alone_under_its_own_policy() -> None:
    page = card_page(card(*full_session()))
    read = Read(page.html)
    digest = b64encode(sha256(read.styles.encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in page.policy
    assert "default-src 'none'" in page.policy
    assert "unsafe" not in page.policy
    names = {name for name, _ in read.attributes}
    assert not names & {"style", "src", "onclick", "onload"}
    assert {value for name, value in read.attributes if name == "href"} == {"#stop"}
    assert not {"script", "link", "iframe", "img", "foreignobject"} & set(read.tags)
    assert "url(" not in read.styles


def test_the_page_fits_a_phone_and_the_paper_asked_for() -> None:
    made = card(*full_session())
    a4, letter = card_page(made, "a4"), card_page(made, "letter")
    assert "width=device-width" in a4.html
    assert "size:a4" in a4.html
    assert "size:letter" in letter.html
    assert a4.policy != letter.policy


def test_the_page_shows_what_the_client_needs() -> None:
    text = " ".join(Read(card_page(card(*full_session(), state="excused")).html).text.split())
    for words in (
        "4 s bar down, 1 s on the chest, fast bar up, 1 s locked out",
        "20 kg bar, each side 25 + 15 + 1.25",
        "rest 75 s, then on to B2",
        "Brace before you unrack.",
        "Excused: it need not be done",
        "call your local emergency number",
        "3 rounds, one set of each.",
    ):
        assert words in text
