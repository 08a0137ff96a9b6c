"""The findings as written, and what they say of the trade."""

import math
import re

VERDICTS = {"holds", "fails", "unsure", "note"}
KEYS = {"id", "verdict", "subject", "station_mm", "measured", "inputs", "limit", "message", "remedy"}

# Common practice, no source: a 150 cm prop at 2 mm wall and 0.2 mm layers prints in about two days on two filament
# printers; its blade comes in about seven pieces on a printer that takes 16 cm of height.
TWO_DAYS_S = 2 * 24 * 3600


def test_nothing_fails(pack):
    found = pack.findings["findings"]
    assert len(found) > 20
    assert [f"{f['id']} {f['subject']}: {f['message']}" for f in found if f["verdict"] == "fails"] == []


def test_every_finding_is_whole(pack):
    assert pack.findings["prop"] and re.fullmatch("[0-9a-f]{16,}", pack.findings["input_hash"])
    for finding in pack.findings["findings"]:
        assert KEYS >= set(finding) and {"id", "verdict", "subject", "measured", "message"} <= set(finding), finding
        assert finding["verdict"] in VERDICTS, finding
        measured = finding["measured"]
        assert measured["low"] <= measured["value"] <= measured["high"] and measured["unit"], finding
        assert all(math.isfinite(measured[k]) for k in ("value", "low", "high")), finding
        limit = finding.get("limit")
        if finding["verdict"] in ("holds", "fails"):
            assert limit and limit["source"] and limit["unit"] == measured["unit"], finding
            assert "min" in limit or "max" in limit, finding
        if finding["verdict"] == "holds":
            assert measured["low"] >= limit.get("min", -math.inf), finding
            assert measured["high"] <= limit.get("max", math.inf), finding
        if finding["verdict"] in ("fails", "unsure"):
            assert finding["remedy"], finding


def test_two_days_on_two_filament_printers(pack):
    on = {}
    for piece in pack.pieces:
        on.setdefault(piece.row["printer"], []).append(piece.row["print_time_s"])
    for times in on.values():
        for time in times:
            assert 0 < time["low"] <= time["value"] <= time["high"]
    filament = [sum(t["value"] for t in times) for printer, times in on.items() if printer in filament_printers(pack)]
    assert len(filament) == 2
    assert TWO_DAYS_S / 1.5 <= max(filament) <= TWO_DAYS_S * 1.5, f"{max(filament) / 3600:.1f} h"


def test_masses_are_their_volumes(pack):
    """Density of ABS about 1.04 g/cm3, PLA 1.24, resin 1.1 to 1.18 (common practice, no source): a lit piece is printed
    solid, so that its mass is its volume's."""
    for piece in pack.pieces:
        mass = piece.row["mass_g"]
        assert 0 < mass["low"] <= mass["value"] <= mass["high"], piece.name
        full = piece.row["volume_mm3"] / 1000
        assert mass["value"] <= full * 1.3, piece.name
        if piece.row["role"] == "lit":
            assert full * 0.95 <= mass["value"], piece.name


def filament_printers(pack):
    return {p.row["printer"] for p in pack.pieces if "resin" not in p.row["material"]}
