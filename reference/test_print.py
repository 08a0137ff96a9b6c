"""Patterns as PDF: true to size on paper, pages that fit each other, the same drawings as the SVG, readable by everybody and everything."""

import json
import re
import tomllib
import xml.etree.ElementTree
from dataclasses import dataclass, field

import numpy
import pack as packs
import pdf
import pypdf
import pypdfium2
import pytest
import scipy.ndimage
import scipy.spatial

# ISO 216; ANSI/ASME Y14.1: lying.
PAPERS = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
# Printers at home leave so much (common practice, no source), mm.
MARGIN_MM = 10.0
INCH_MM = 25.4
SVG = "{http://www.w3.org/2000/svg}"


@dataclass
class File:
    """A file to print, with what the index says of it."""

    path: object
    entry: dict
    # None: all on one sheet.
    paper: dict | None
    drawn: dict = field(default_factory=dict)

    def __post_init__(self):
        self.reader = pypdf.PdfReader(self.path)
        self.pdfium = pypdfium2.PdfDocument(self.path)

    @property
    def name(self):
        return self.path.name

    def outlines(self, k):
        """What page k draws, read once."""
        if k not in self.drawn:
            self.drawn[k] = pdf.outlines_mm(self.reader.pages[k])
        return self.drawn[k]

    def render(self, k, dpi):
        """Darkness, 0 to 1, of page k, and the size of a pixel each way, mm: a page is drawn on whole pixels, a little larger."""
        page = self.pdfium[k].render(scale=dpi / 72, grayscale=True).to_numpy()
        dark = 1 - numpy.asarray(page, dtype=float).reshape(page.shape[0], -1) / 255
        return dark, numpy.array(pdf.size_mm(self.reader.pages[k])) / dark.shape[::-1]

    def tiles(self):
        """Pages beside each other: both page numbers, and how far the second's part of the sheet begins beyond the first's, mm."""
        begins = [numpy.array(tile["from_mm"]) for tile in self.paper["tiles"]]
        size = numpy.array(self.paper["shown_mm"][1])
        for a, one in enumerate(begins):
            for b, other in enumerate(begins):
                step = other - one
                if (0 < step[0] < size[0] and step[1] == 0) or (step[0] == 0 and 0 < step[1] < size[1]):
                    yield a + 1, b + 1, step


@pytest.fixture(scope="module", params=packs.homes(), ids=lambda home: home.name)
def home(request):
    return request.param


@pytest.fixture(scope="module")
def files(home):
    index = json.loads((home / "patterns/index.json").read_text(encoding="utf-8"))["patterns"]
    made = [File(home / "patterns" / paper["pdf"], entry, paper) for entry in index for paper in entry["papers"]]
    made += [File(home / "patterns" / file, entry, None) for entry in index for file in entry["files"] if file.endswith(".pdf")]
    return made


def tiled(files, name=None):
    return [f for f in files if f.paper and f.paper["tiles"] and name in (None, f.name)]


def test_every_pattern_comes_for_each_paper_and_as_one_sheet(files):
    names = {file.name for file in files}
    for pattern in ("outline", "masks", "wraps", "cut-list", "sizing"):
        assert {f"{pattern}-a4.pdf", f"{pattern}-letter.pdf", f"{pattern}.pdf"} <= names


def test_files_are_well_formed_and_their_fonts_lie_in_them(files):
    for file in files:
        pdf.is_well_formed(file.path)
        assert "LibertinusSerif-Regular" in pdf.embedded_fonts(file.reader), file.name


def test_every_page_is_a_figure_with_a_bookmark(files):
    for file in files:
        elements = pdf.told_to_readers_that_speak(file.reader)
        kinds = [e["/S"] for e in elements]
        pages = len(file.reader.pages)
        assert kinds.count("/Figure") == kinds.count("/H1") == pages, file.name
        bookmarks = file.reader.outline
        assert [file.reader.get_destination_page_number(b) for b in bookmarks] == list(range(pages)), file.name
        assert len({b.title for b in bookmarks}) == pages
        for page, tile in zip(bookmarks[1:], file.paper["tiles"] if file.paper else []):
            assert page.title.endswith(f"page {tile['name']}"), page.title


def test_pages_have_the_size_of_their_paper(files):
    for file in files:
        if file.paper:
            wanted = PAPERS[file.paper["paper"]]
            assert len(file.reader.pages) == len(file.paper["pages"])
        else:
            root = xml.etree.ElementTree.parse(file.path.with_suffix(".svg")).getroot()
            wanted = [float(root.get(key).removesuffix("mm")) for key in ("width", "height")]
            # ISO 32000-1, annex C.2: no page is longer than 14 400 units.
            assert len(file.reader.pages) == 1 and max(wanted) <= 14400 * pdf.POINT_MM
        for page in file.reader.pages:
            assert numpy.allclose(pdf.size_mm(page), wanted, rtol=0, atol=0.01), file.name


def test_the_squares_measure_what_they_say_in_the_file(files):
    for file in tiled(files):
        for side in (100.0, 4 * INCH_MM):
            squares = [
                points
                for points, _, operator in file.outlines(0)
                if operator == b"S" and len(points) == 5 and abs(numpy.ptp(points[:, 0]) - side) < 0.5
            ]
            assert len(squares) == 1, (file.name, side)
            edges = numpy.diff(squares[0], axis=0)
            assert numpy.allclose(numpy.hypot(*edges.T), side, rtol=0, atol=0.02), (file.name, edges)
            assert numpy.abs(numpy.prod(edges, axis=1)).max() < 1e-3, "upright"
            low, high = squares[0].min(axis=0), squares[0].max(axis=0)
            assert (low > MARGIN_MM).all() and (numpy.array(PAPERS[file.paper["paper"]]) - high > MARGIN_MM).all()


def test_the_squares_measure_what_they_say_when_drawn(files):
    """At 300 dpi a line of 0.2 mm covers 2.4 pixels, its darkness tells where its middle is to well below a tenth of a pixel: two
    lines of one square are apart what they should be to 0.1 pixel, which is 0.01 mm."""
    for file in tiled(files):
        if file.entry["name"] != "outline":
            continue
        page, pixel = file.render(0, 300)
        for side in (100.0, 4 * INCH_MM):
            square = next(p for p, _, op in file.outlines(0) if op == b"S" and len(p) == 5 and abs(numpy.ptp(p[:, 0]) - side) < 0.5)
            low, high = square.min(axis=0) / pixel, square.max(axis=0) / pixel
            for axis in (0, 1):
                # Where nothing is written: the lower right of each square.
                across = slice(int(low[1 - axis] + 0.7 * (high - low)[1 - axis]), int(low[1 - axis] + 0.9 * (high - low)[1 - axis]))
                profile = (page[across] if axis == 0 else page[:, across].T).mean(axis=0)
                middles = []
                for at in (low[axis], high[axis]):
                    near = numpy.arange(int(at) - 5, int(at) + 7)
                    assert profile[near].sum() > 1, "a line"
                    middles.append((profile[near] * (near + 0.5)).sum() / profile[near].sum())
                apart = middles[1] - middles[0]
                assert abs(apart - side / pixel[axis]) < 0.1, (file.name, side, axis, apart * pixel[axis])


def test_neighbouring_pages_draw_the_same_where_they_overlap(files):
    """Each point of a line on one page has its like on the other, to 0.05 mm."""
    compared = 0
    for file in tiled(files, "outline-a4.pdf") + tiled(files, "masks-letter.pdf"):
        corner, size = (numpy.array(v) for v in file.paper["shown_mm"])
        window = numpy.concatenate([corner, corner + size])
        for k in range(1, len(file.reader.pages)):
            # Lines of the sheet beside its axes, which run through every page.
            lines = [p for p, clip, _ in file.outlines(k) if clip and numpy.allclose(clip, window, atol=0.01)]
            inner = [((p > corner + 5) & (p < corner + size - 5)).all(axis=1).any() for p in lines]
            assert any(inner), f"{file.name}, page {k + 1} shows nothing"
        for a, b, step in file.tiles():
            one, other = (
                numpy.concatenate([p for p, clip, _ in file.outlines(k) if clip and numpy.allclose(clip, window, atol=0.01)])
                for k in (a, b)
            )
            other = other + step
            low, high = corner + step + 0.3, corner + size - 0.3
            for mine, others in ((one, other), (other, one)):
                inside = mine[((mine > low) & (mine < high)).all(axis=1)]
                if len(inside) == 0:
                    continue
                off, _ = scipy.spatial.cKDTree(others).query(inside)
                assert off.max() < 0.05, (file.name, a, b, inside[off.argmax()], off.max())
                compared += len(inside)
            # What belongs to the page itself, its crosses, meets as well: three of two lines each.
            marks = [
                {tuple(numpy.round(p.mean(axis=0) + shift, 1)) for p, clip, _ in file.outlines(k) if is_arm(p, clip, window)}
                for k, shift in ((a, 0), (b, step))
            ]
            assert len(marks[0] & marks[1]) == 3, (file.name, a, b)
    assert compared > 500


def is_arm(points, clip, window):
    """Whether a line is one of a cross mark's two: 8 mm long, and not of the sheet."""
    of_sheet = clip and numpy.allclose(clip, window, atol=0.01)
    return not of_sheet and len(points) == 2 and abs(numpy.hypot(*(points[1] - points[0])) - 8.0) < 0.01


def test_neighbouring_pages_lie_on_each_other_when_drawn(files):
    """The strips that both show, drawn at 300 dpi, lie on each other to 0.05 mm: by least squares on their gradients (B. D. Lucas and
    T. Kanade, An iterative image registration technique, 1981), from where the index says that they meet."""
    blur = 2.0
    file = tiled(files, "outline-a4.pdf")[0]
    corner, size = (numpy.array(v) for v in file.paper["shown_mm"])
    beside = [t for t in file.tiles() if t[2][0] > 0][:2]
    below = [t for t in file.tiles() if t[2][1] > 0][:1]
    renders = {k: file.render(k, 300) for k in {p for t in beside + below for p in t[:2]}}
    measured = []
    for a, b, step in beside + below:
        # Names of pages and of neighbours stand in the upper half of a strip, or in its left half; frames end at its corners.
        low, high = corner + step, corner + size
        along = 1 if step[0] else 0
        low[along] = (low[along] + high[along]) / 2 + 5
        high[along] -= 8
        strips = [cut(*renders[k], low - shift, high - low) for k, shift in ((a, 0), (b, step))]
        one, other = (scipy.ndimage.gaussian_filter(s, blur) for s in strips)
        inner = (slice(8, -8), slice(8, -8))
        shift = numpy.zeros(2)
        for _ in range(3):
            moved = scipy.ndimage.shift(other, shift, order=3, mode="nearest")
            gradients = numpy.stack([g[inner].ravel() for g in numpy.gradient(moved)])
            squares = gradients @ gradients.T
            assert numpy.linalg.cond(squares) < 1e4, "lines both ways"
            shift = shift + numpy.linalg.solve(squares, gradients @ (moved - one)[inner].ravel())
        measured.append(shift * renders[a][1][::-1])
        assert numpy.abs(measured[-1]).max() < 0.05, (a, b, measured[-1])
        off = scipy.ndimage.shift(other, shift, order=3, mode="nearest")[inner] - one[inner]
        assert numpy.abs(off).max() < 0.1, (a, b, numpy.abs(off).max())
    assert len(measured) == 3


def cut(page, pixel, low, size):
    """A part of a page from any point on, by cubic interpolation."""
    wide, high = numpy.floor(size / pixel).astype(int)
    x, y = low / pixel
    left, top = int(x) - 3, int(y) - 3
    near = page[top : top + high + 8, left : left + wide + 8]
    return scipy.ndimage.shift(near, (top - y, left - x), order=3, mode="nearest")[:high, :wide]


def test_the_file_draws_what_the_drawing_does(files):
    """Straight lines of the SVG are in the PDF, at the same place."""
    for file in tiled(files, "outline-a4.pdf") + tiled(files, "wraps-letter.pdf"):
        for k in (1, len(file.reader.pages) - 1):
            root = xml.etree.ElementTree.parse(file.path.parent / file.paper["pages"][k]).getroot()
            drawn = numpy.array([p[:2].ravel() for p, _, _ in file.outlines(k) if len(p) == 2])
            lines = drawn_lines(root)
            assert len(lines) > 20
            for line in lines:
                assert numpy.abs(drawn - line).max(axis=1).min() < 0.005, (file.name, k, line)


def drawn_lines(root):
    """Every line element, on the page: x1, y1, x2, y2. Only shifts are used."""
    found = []

    def into(node, shift):
        moved = re.findall(r"translate\((\S+) (\S+)\)", node.get("transform") or "")
        shift = shift + (numpy.array([float(v) for v in moved[0]]) if moved else 0)
        if node.tag == SVG + "line":
            found.append(numpy.array([float(node.get(k)) for k in ("x1", "y1", "x2", "y2")]) + numpy.tile(shift, 2))
        for child in node:
            into(child, shift)

    into(root, numpy.zeros(2))
    return found


def test_words_are_found(files, home):
    project = tomllib.loads((packs.ROOT / "examples" / home.name / "prop.toml").read_text(encoding="utf-8"))
    name, credits = project["prop"]["name"], project.get("credits", {})
    index = json.loads((home / "pieces/index.json").read_text(encoding="utf-8"))
    for file in files:
        texts = [" ".join(page.get_textpage().get_text_bounded().split()) for page in file.pdfium]
        for k, text in enumerate(texts):
            assert name in text, (file.name, k)
            assert credits.get("licence", "") in text, (file.name, k)
        for text, tile in zip(texts[1:], file.paper["tiles"] if file.paper else []):
            assert re.search(rf"\b{tile['name']}, 1:1", text), (file.name, tile)
        if file.paper and file.paper["tiles"]:
            assert f"{file.entry['title']}, full size" in texts[0] and "Key map" in texts[0]
            assert all(tile["name"] in texts[0] for tile in file.paper["tiles"])
        # The outline names its pieces and joints.
        wanted = {f"J{joint['number']}" for joint in index["joints"]}
        if file.name in ("outline-a4.pdf", "outline-letter.pdf"):
            wanted |= {f"{piece['number']:02}" for piece in index["pieces"]}
            assert wanted <= set(re.findall(r"\b(?:J\d+|\d\d)\b", " ".join(texts))), file.name
        elif file.name == "outline.pdf":
            # On so long a page the browser's library tells no words apart, the other does.
            text = file.reader.pages[0].extract_text()
            assert wanted <= set(re.findall(r"\bJ\d+\b", text)) and "From the side" in text


def test_no_page_is_empty_and_margins_are_kept(files):
    dpi = 50
    edge = int(MARGIN_MM / INCH_MM * dpi) - 1
    for file in files:
        if not file.paper:
            continue
        for k in range(len(file.reader.pages)):
            page, _ = file.render(k, dpi)
            foot = page.shape[0] - int(22 / INCH_MM * dpi)
            assert (page[edge:foot] > 0.2).sum() > 100, f"{file.name}, page {k + 1} is empty"
            page[edge:-edge, edge:-edge] = 0
            assert page.max() < 0.05, f"{file.name}, page {k + 1} draws where printers do not"


def test_every_letter_lies_on_its_page(files):
    for file in files:
        margin = (MARGIN_MM if file.paper else 3.0) / pdf.POINT_MM
        for number, page in enumerate(file.pdfium, 1):
            width, height = page.get_size()
            text = page.get_textpage()
            clipped = file.paper and file.paper["tiles"] and number > 1
            for k in range(text.count_rects()):
                left, bottom, right, top = text.get_rect(k)
                well = margin - 1 < left and right < width - margin + 1 and margin - 1 < bottom and top < height - margin + 1
                # A tile shows what of a text lies on it; the rest is on its neighbour.
                assert well or clipped or right <= left, f"{file.name}, page {number}: {text.get_text_bounded(left, bottom, right, top)!r}"
