"""The build book: a PDF that programs not ours open, search and draw, and that says what the page says."""

import html
import json
import re

import numpy
import pdf
import pypdf
import pypdfium2
import pytest

# ISO 216, and ANSI/ASME Y14.1 for what is asked for in inches; mm.
PAPERS = {"A4": (210, 297), "A3": (297, 420), "Letter": (215.9, 279.4), "Tabloid": (279.4, 431.8)}


class Book:
    def __init__(self, home):
        self.path = home / "book.pdf"
        self.reader = pypdf.PdfReader(self.path)
        self.pdfium = pypdfium2.PdfDocument(self.path)
        self.page = (home / "index.html").read_text(encoding="utf-8")
        self.findings = json.loads((home / "findings.json").read_text(encoding="utf-8"))["findings"]
        self.pieces = json.loads((home / "pieces/index.json").read_text(encoding="utf-8"))["pieces"]
        self.texts = [page.get_textpage().get_text_bounded() for page in self.pdfium]
        self.text = tight(" ".join(self.texts))


BOOKS = {}


@pytest.fixture
def book(pack):
    if pack.home not in BOOKS:
        BOOKS[pack.home] = Book(pack.home)
    return BOOKS[pack.home]


def tight(text):
    """Without what a line break or a hyphen may have put in or taken out."""
    return re.sub(r"[\s\-\u00ad\u2010\u2011\u202f\ufffe\u0002]", "", text)


def test_qpdf_finds_nothing_to_complain_of(book):
    pdf.is_well_formed(book.path)


def test_every_page_has_the_size_of_a_paper(book):
    metric = {"A4", "A3"}
    seen = set()
    for page in book.reader.pages:
        size = sorted(pdf.size_mm(page))
        fits = [name for name, paper in PAPERS.items() if max(abs(a - b) for a, b in zip(size, paper)) < 0.01]
        assert len(fits) == 1, size
        seen.add(fits[0])
    assert seen <= metric or not seen & metric, seen


def test_every_font_is_embedded(book):
    assert {"LibertinusSerif-Regular", "LibertinusSerif-Semibold", "DejaVuSansMono"} <= pdf.embedded_fonts(book.reader)


def test_it_is_tagged_for_readers_that_speak(book):
    """Beside what holds for every file: ISO 14289-1, 7.5 tables, and a figure for each piece."""
    kinds = [e["/S"] for e in pdf.told_to_readers_that_speak(book.reader)]
    assert kinds.count("/Figure") >= len(book.pieces)
    for wanted in ("/Table", "/TH", "/TD", "/TR", "/L", "/LI", "/P"):
        assert wanted in kinds, wanted


def chapters(book):
    return [html.unescape(h) for h in re.findall(r"<h2>(.*?)</h2>", book.page)]


def test_bookmarks_are_the_chapters_of_the_page(book):
    def titles(outline):
        for entry in outline:
            if isinstance(entry, list):
                yield from titles(entry)
            else:
                yield entry.title

    found = list(titles(book.reader.outline))
    wanted = chapters(book)
    assert len(wanted) > 15
    assert [t for t in found if t in wanted] == wanted
    pages = [book.reader.get_destination_page_number(e) for e in book.reader.outline if not isinstance(e, list)]
    assert pages == sorted(pages)


def test_the_text_is_found(book):
    for finding in book.findings:
        assert tight(finding["message"]) in book.text, finding["message"]
    for piece in book.pieces:
        assert tight(piece["body"]) in book.text and tight(piece["printer"]) in book.text
    # Names in drawings are text as well: they stand beside the prop in the side view.
    side = next(i for i, text in enumerate(book.texts) if "Side view and top view" in text and i > 1)
    names = {f"{p['number']:02}" for p in book.pieces}
    found = set(re.findall(r"\b\d\d\b", " ".join(book.texts[side : side + 2])))
    assert len(names & found) > len(names) / 2, found


def test_the_book_says_what_the_page_says(book):
    """Paragraphs and cells of the page, without what only leads to a file, are in the book."""
    body = re.sub(r"<(svg|style|nav|header|footer)\b.*?</\1>", "", book.page, flags=re.S)
    steps = re.findall(r'<li id="step-\d+">(.*?)</li>', body, flags=re.S)
    assert len(steps) > 20
    cells = re.findall(r'<(?:td|th scope="(?:row|col)")>([^<]+)</t[dh]>', body) + re.findall(r"<p[^>]*>([^<]{20,})</p>", body)
    for step in steps:
        for part in re.findall(r"<p[^>]*>(.*?)</p>", step):
            cells += [t for t in re.split(r"<[^>]+>", part) if len(t) > 3]
    assert len(cells) > 300
    missing = [c for c in cells if tight(html.unescape(c)) not in book.text]
    assert missing == []


@pytest.fixture
def drawn(book):
    """Each page at 36 dpi, as darkness 0 to 1."""
    if not hasattr(book, "drawn"):
        pages = (page.render(scale=0.5, grayscale=True).to_numpy() for page in book.pdfium)
        book.drawn = [1 - numpy.asarray(page).reshape(page.shape[0], -1) / 255 for page in pages]
    return book.drawn


def test_no_page_is_empty_and_nothing_runs_off_it(book, drawn):
    edge = int(round(5 / pdf.POINT_MM / 2))  # 5 mm, in pixels of half a point each way
    for number, page in enumerate(drawn, 1):
        # The foot stands on every page; what is between it and the head must show something.
        assert (page[edge : -3 * edge] > 0.3).sum() > 60, f"page {number} is empty"
        ring = page.copy()
        ring[edge:-edge, edge:-edge] = 0
        assert ring.max() < 0.1, f"page {number} has something within 5 mm of its edge"


def test_every_letter_lies_on_its_page(book):
    for number, page in enumerate(book.pdfium, 1):
        width, height = page.get_size()
        text = page.get_textpage()
        for k in range(text.count_rects()):
            left, bottom, right, top = text.get_rect(k)
            well = 14 < left and right < width - 14 and 14 < bottom and top < height - 14
            assert well or right <= left, f"page {number}: {text.get_text_bounded(left, bottom, right, top)!r}"


def test_tables_repeat_their_heads(book):
    """The findings that hold fill more than a page: their head stands on each."""
    heads = [i for i, text in enumerate(book.texts) if re.search(r"What\s+Found\s+Measured", text)]
    assert len(heads) >= 2 and heads == list(range(heads[0], heads[-1] + 1))
