"""What the checks of PDF files share: programs not ours that open, search, draw and measure them."""

import re
import subprocess

import numpy
import pypdf

POINT_MM = 25.4 / 72  # ISO 32000-1, 8.3.2.3


def is_well_formed(path):
    """ISO 32000 syntax: cross references, streams, the page tree."""
    said = subprocess.run(["qpdf", "--check", str(path)], capture_output=True, text=True)
    assert said.returncode == 0, said.stdout + said.stderr
    assert "No syntax or stream encoding errors found" in said.stdout
    assert "WARNING" not in said.stdout + said.stderr


def size_mm(page):
    """Width and height of the sheet that a page comes out on."""
    assert page.rotation == 0 and page.cropbox == page.mediabox and page.get("/UserUnit", 1) == 1
    assert page.mediabox.left == 0 and page.mediabox.bottom == 0
    return [float(v) * POINT_MM for v in (page.mediabox.width, page.mediabox.height)]


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


def embedded_fonts(reader):
    """Names of all fonts; each lies in the file, as a subset."""
    names = set()
    for page in reader.pages:
        for font in fonts(page["/Resources"], set()):
            for inner in font.get("/DescendantFonts", [font]):
                inner = inner.get_object()
                described = inner["/FontDescriptor"].get_object()
                file = described.get("/FontFile3") or described.get("/FontFile2")
                assert file is not None, font
                assert len(file.get_object().get_data()) > 200
                names.add(described["/FontName"].split("+")[-1])
                assert "+" in described["/FontName"], "a subset, not the whole font"
    assert all(name.startswith(("LibertinusSerif", "DejaVuSansMono")) for name in names), names
    return names


def elements(node):
    """Every element of a structure tree, in order."""
    node = node.get_object()
    if isinstance(node, pypdf.generic.ArrayObject):
        for kid in node:
            yield from elements(kid)
    elif isinstance(node, pypdf.generic.DictionaryObject):
        if "/S" in node:
            yield node
        if "/K" in node:
            yield from elements(node["/K"])


def told_to_readers_that_speak(reader):
    """ISO 14289-1: 5 the identifier, 7.1 tags and title, 7.3 figures, 7.4 headings. Gives the elements of its structure."""
    root = reader.root_object
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value is True
    assert root["/Lang"].startswith("en")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"].value is True
    metadata = root["/Metadata"].get_object().get_data().decode()
    assert re.search(r"<pdfuaid:part>1</pdfuaid:part>", metadata)
    assert "<dc:title>" in metadata and "CreateDate" not in metadata
    all_of_them = list(elements(root["/StructTreeRoot"]["/K"]))
    assert all(str(e.get("/Alt", "")).strip() for e in all_of_them if e["/S"] == "/Figure")
    headings = [int(e["/S"][2:]) for e in all_of_them if re.fullmatch(r"/H\d", e["/S"])]
    assert headings[0] == 1 and all(b <= a + 1 for a, b in zip(headings, headings[1:]))
    return all_of_them


def outlines_mm(page):
    """What a page draws: each path's points, mm from the page's upper left corner, with the box that it is clipped to (left, top,
    right, bottom; None: the page). Curves are their corner points. ISO 32000-1, 8.4 and 8.5."""
    height = float(page.mediabox.height)
    found = []
    walk(page.get_contents(), page["/Resources"], numpy.eye(3), None, height, found)
    return found


def matrix(numbers):
    a, b, c, d, e, f = (float(v) for v in numbers)
    return numpy.array([[a, b, 0], [c, d, 0], [e, f, 1]])


# A number, an operator; a text or a name that may look like one (ISO 32000-1, 7.2 and 7.3).
TOKEN = re.compile(rb"\((?:\\.|[^\\()])*\)|<[0-9A-Fa-f\s]*>|/[^\s/\[\]<>()]*|[-+]?(?:\d+\.?\d*|\.\d+)|[A-Za-z'\"*]+", re.S)
PAINTS = {b"S", b"s", b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*", b"n"}


def walk(stream, resources, to_page, clip, height, found):
    """Adds what a content stream draws to `found`."""
    stack, path, clips, operands = [], [], False, []

    def put(x, y):
        x, y = (x * a + y * c + e for a, c, e in to_page.T.tolist()[:2])
        path[-1].append((x * POINT_MM, (height - y) * POINT_MM))

    for token in TOKEN.findall(stream.get_data()):
        if token[0] in b"0123456789+-.":
            operands.append(float(token))
            continue
        if token[0] in b"(</":
            operands.append(token)
            continue
        if token == b"q":
            stack.append((to_page, clip))
        elif token == b"Q":
            to_page, clip = stack.pop()
        elif token == b"cm":
            to_page = matrix(operands) @ to_page
        elif token == b"m":
            path.append([])
            put(*operands)
        elif token == b"l":
            put(*operands)
        elif token in (b"c", b"v", b"y"):
            for k in range(0, len(operands), 2):
                put(*operands[k : k + 2])
        elif token == b"re":
            x, y, w, h = operands
            path.append([])
            for corner in ((x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)):
                put(*corner)
        elif token == b"h":
            path[-1].append(path[-1][0])
        elif token in (b"W", b"W*"):
            clips = True
        elif token in PAINTS:
            if clips:
                points = numpy.array([p for line in path for p in line])
                clip = (*points.min(axis=0), *points.max(axis=0))
            elif token != b"n":
                found.extend((numpy.array(line), clip, token) for line in path)
            path, clips = [], False
        elif token == b"Do":
            form = resources["/XObject"][operands[0].decode()].get_object()
            if form.get("/Subtype") == "/Form":
                inner = matrix(form["/Matrix"]) @ to_page if "/Matrix" in form else to_page
                walk(form, form.get("/Resources", resources), inner, clip, height, found)
        operands = []
