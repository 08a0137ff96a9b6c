"""The plan of work as it was written: the table judged by rules written here, the calendar read by the library icalendar."""

import csv
import datetime

import icalendar
import pytest

STAMP = "%Y-%m-%d %H:%M"


@pytest.fixture
def rows(pack):
    with open(pack.home / "work/plan.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row["from"], row["to"] = (datetime.datetime.strptime(row[k], STAMP) for k in ("from", "to"))
        row["hands_end"] = row["from"] + datetime.timedelta(minutes=int(row["hands_min"]))
    return rows


@pytest.fixture
def calendar(pack):
    return icalendar.Calendar.from_ical((pack.home / "work/plan.ics").read_bytes())


def test_jobs_are_named_once_and_follow_from_the_build(pack, rows):
    names = [row["job"] for row in rows]
    assert len(names) == len(set(names))
    for piece in pack.pieces:
        assert any(piece.name in name for name in names), piece.name
    for joint in pack.joints:
        kind = "close" if joint["kind"] in ("bayonet", "screws", "magnets") else "glue"
        assert f"{kind} J{joint['number']}" in names


def test_order_and_hours_are_kept(pack, rows):
    by_name = {row["job"]: row for row in rows}
    for row in rows:
        for before in filter(None, row["after"].split("; ")):
            assert by_name[before]["from"] <= row["from"], (before, row["job"])
    rules = pack.project["plan"]
    weekdays = rules.get("weekdays", ["18:00-22:00"])
    weekend = rules.get("weekend", ["10:00-13:00", "14:00-19:00"])
    for row in rows:
        if int(row["hands_min"]) == 0:
            continue
        day = row["from"].date()
        assert day.isoformat() not in rules.get("off", []), row["job"]
        spans = [span.split("-") for span in (weekend if day.weekday() >= 5 else weekdays)]
        clock = lambda at: at.strftime("%H:%M")
        assert any(a <= clock(row["from"]) and clock(row["hands_end"]) <= b for a, b in spans), row
        if row["job"].startswith("coat "):
            assert not any(a <= day.isoformat() <= b for a, b in rules.get("too-cold", [])), row["job"]


def test_no_more_hands_than_there_are(pack, rows):
    people = pack.project["plan"].get("people", 1)
    busy = [row for row in rows if int(row["hands_min"]) > 0]
    for row in busy:
        assert sum(other["from"] <= row["from"] < other["hands_end"] for other in busy) <= people, row["job"]


def test_the_calendar_says_what_the_table_says(pack, rows, calendar):
    raw = (pack.home / "work/plan.ics").read_bytes()
    assert raw.endswith(b"\r\n") and b"\n" not in raw.replace(b"\r\n", b"")
    assert all(len(line) <= 75 for line in raw.split(b"\r\n"))
    events = calendar.walk("VEVENT")
    stamps = [event["UID"] for event in events + calendar.walk("VTODO")]
    assert len(stamps) == len(set(stamps))
    assert all("DTSTAMP" in event for event in events)
    timed = {str(e["SUMMARY"]): e for e in events if isinstance(e["DTSTART"].dt, datetime.datetime)}
    for row in rows:
        if int(row["hands_min"]) > 0:
            event = timed[row["job"]]
            assert (event["DTSTART"].dt, event["DTEND"].dt) == (row["from"], min(row["hands_end"], row["to"]))
            alarms = event.walk("VALARM")
            assert bool(alarms) == (row["critical"] == "yes" and row["begun"] == "no"), row["job"]
        if row["to"] > row["hands_end"]:
            event = timed[row["job"] + ": waits by itself"]
            assert event["DTEND"].dt == row["to"] and str(event["TRANSP"]) == "TRANSPARENT"


def test_the_date_is_a_day_a_deadline_and_a_task(pack, rows, calendar):
    rules = pack.project["plan"]
    event = datetime.date.fromisoformat(rules["event"])
    days = {e["DTSTART"].dt: e for e in calendar.walk("VEVENT") if not isinstance(e["DTSTART"].dt, datetime.datetime)}
    assert event in days and len(days) == 2
    for day, entry in days.items():
        # The end of a whole day is the next.
        assert entry["DTEND"].dt == day + datetime.timedelta(days=1)
    [task] = calendar.walk("VTODO")
    assert task["DUE"].dt == datetime.datetime.combine(event, datetime.time()) - datetime.timedelta(hours=72)
    found = {f["id"]: f for f in pack.findings["findings"] if f["id"].startswith("plan_")}
    left = datetime.datetime.combine(event, datetime.time()) - max(row["to"] for row in rows)
    assert abs(found["plan_in_time"]["measured"]["value"] - left.total_seconds() / 86400) < 1e-6
    pairs = lambda row: sum(taken.startswith("hands") for taken in row["takes"].split("; "))
    hours = sum(int(row["hands_min"]) * pairs(row) for row in rows) / 60
    assert found["plan_hands"]["measured"]["value"] == pytest.approx(hours)
