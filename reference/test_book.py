"""The build book: a PDF that programs not ours open, search and draw, and that says what the page says."""

import html
import json
import re
import subprocess

import numpy
import pypdf
import pypdfium2
import pytest

POINT_MM = 25.4 / 72  # ISO 32000-1, 8.3.2.3
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
    """ISO 32000 syntax: cross references, streams, the page tree."""
    said = subprocess.run(["qpdf", "--check", str(book.path)], capture_output=True, text=True)
    assert said.returncode == 0, said.stdout + said.stderr
    assert "No syntax or stream encoding errors found" in said.stdout
    assert "WARNING" not in said.stdout + said.stderr


def test_every_page_has_the_size_of_a_paper(book):
    metric = {"A4", "A3"}
    seen = set()
    for page in book.reader.pages:
        size = sorted(float(v) * POINT_MM for v in (page.mediabox.width, page.mediabox.height))
        fits = [name for name, paper in PAPERS.items() if max(abs(a - b) for a, b in zip(size, paper)) < 0.01]
        assert len(fits) == 1, size
        assert page.rotation == 0 and page.cropbox == page.mediabox
        seen.add(fits[0])
    assert seen <= metric or not seen & metric, seen


def fonts(resources, seen):
    """Every font that a page, or a drawing in it, uses."""
    resources = resources.get_object()
    for font in (resources.get("/Font") or {}).get_object().values() if "/Font" in resources else []:
        yield font.get_object()
    for part in resources["/XObject"].get_object().values() if "/XObject" in resources else []:
        part = part.get_object()
        if part.get("/Subtype") == "/Form" and part.indirect_reference.idnum not in seen:
            seen.add(part.indirect_reference.idnum)
            if "/Resources" in part:
                yield from fonts(part["/Resources"], seen)


def test_every_font_is_embedded(book):
    names = set()
    for page in book.reader.pages:
        for font in fonts(page["/Resources"], set()):
            for inner in font.get("/DescendantFonts", [font]):
                inner = inner.get_object()
                described = inner["/FontDescriptor"].get_object()
                file = described.get("/FontFile3") or described.get("/FontFile2")
                assert file is not None, font
                assert len(file.get_object().get_data()) > 200
                names.add(described["/FontName"].split("+")[-1])
                assert "+" in described["/FontName"], "a subset, not the whole font"
    assert {"LibertinusSerif-Regular", "LibertinusSerif-Semibold", "DejaVuSansMono"} <= names
    assert all(name.startswith(("LibertinusSerif", "DejaVuSansMono")) for name in names), names


def elements(node):
    node = node.get_object()
    if isinstance(node, pypdf.generic.ArrayObject):
        for kid in node:
            yield from elements(kid)
    elif isinstance(node, pypdf.generic.DictionaryObject):
        if "/S" in node:
            yield node
        if "/K" in node:
            yield from elements(node["/K"])


def test_it_is_tagged_for_readers_that_speak(book):
    """ISO 14289-1: 5 the identifier, 7.1 tags and title, 7.3 figures, 7.4 headings, 7.5 tables."""
    root = book.reader.root_object
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value is True
    assert root["/Lang"].startswith("en")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"].value is True
    metadata = root["/Metadata"].get_object().get_data().decode()
    assert re.search(r"<pdfuaid:part>1</pdfuaid:part>", metadata)
    assert "<dc:title>" in metadata and "CreateDate" not in metadata
    all_of_them = list(elements(root["/StructTreeRoot"]["/K"]))
    kinds = [e["/S"] for e in all_of_them]
    figures = [e for e in all_of_them if e["/S"] == "/Figure"]
    assert len(figures) >= len(book.pieces) and all(str(f.get("/Alt", "")).strip() for f in figures)
    headings = [int(k[2:]) for k in kinds if re.fullmatch(r"/H\d", k)]
    assert headings[0] == 1 and all(b <= a + 1 for a, b in zip(headings, headings[1:]))
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
    edge = int(round(5 / POINT_MM / 2))  # 5 mm, in pixels of half a point each way
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
