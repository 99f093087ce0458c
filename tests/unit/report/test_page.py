"""Building blocks of the page: whatever words come in, they come out as words."""

import html.parser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.report.page import Chapter, audio, caution, page, paragraph, picture, table, vector

HOSTILE = "<script>alert(\"1\")</script> & 'co' <b>"


class Reader(html.parser.HTMLParser):
    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.words, self.attributes = [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes.append(dict(attrs))

    def handle_data(self, data):
        self.words.append(data)


@given(st.text(st.characters(codec="utf-8", exclude_characters="\r\x00"), min_size=1))
def test_paragraph_keeps_every_word(text):
    read = Reader(paragraph(text))
    assert read.tags == ["p"]
    assert "".join(read.words) == text


def test_words_that_look_like_markup():
    blocks = (
        paragraph(HOSTILE),
        table((HOSTILE,), [(HOSTILE,)]),
        caution((HOSTILE,)),
        picture(b"x", "png", HOSTILE),
        audio(b"x", HOSTILE),
        vector("<?xml version='1.0'?>\n<svg></svg>", HOSTILE),
    )
    read = Reader(page(HOSTILE, HOSTILE, (Chapter(title=HOSTILE, blocks=blocks),), HOSTILE))
    assert "script" not in read.tags
    assert "b" not in read.tags
    assert read.words.count(HOSTILE) == 13
    (image,) = [a for t, a in zip(read.tags, read.attributes, strict=True) if t == "img"]
    assert image["alt"] == HOSTILE
    assert image["src"] == "data:image/png;base64,eA=="


@pytest.mark.parametrize(
    ("cells", "is_number"),
    [(("1.5", "-3", "∞"), True), (("+2 dB", ""), True), (("1", "plate"), False)],
)
def test_numbers_stand_on_the_right(cells, is_number):
    text = table(("column",), [(cell,) for cell in cells])
    assert text.count('class="n"') == (1 + len(cells) if is_number else 0)


def test_links_meet_their_chapters():
    chapters = (Chapter(title="Signal path", blocks=()), Chapter(title="Loop", blocks=()))
    read = Reader(page("t", "lead", chapters, "foot"))
    links = [a["href"] for t, a in zip(read.tags, read.attributes, strict=True) if t == "a"]
    places = [a["id"] for t, a in zip(read.tags, read.attributes, strict=True) if t == "h2"]
    assert links == [f"#{place}" for place in places] == ["#signal-path", "#loop"]
