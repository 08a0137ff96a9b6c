//! The plan as a calendar after RFC 5545, with its name after RFC 7986: work and waits as events in local time, the date as a task and
//! an event, alarms before what the finish hangs on.

use super::{moment, takes};
use prop::work::Schedule;

const DAY: i64 = 24 * 60;

/// The whole calendar. The same plan gives the same bytes: its stamp is the first day's midnight, not a clock's.
pub(super) fn calendar(prop: &str, plan: &Schedule) -> String {
    let mut out = Lines(String::new());
    for (name, value) in [
        ("BEGIN", "VCALENDAR"),
        ("VERSION", "2.0"),
        ("PRODID", "-//Lanthorn//Plan of work//EN"),
        ("CALSCALE", "GREGORIAN"),
    ] {
        out.line(name, value);
    }
    out.text("NAME", &format!("{prop}: plan of work"));
    let stamp = format!("{}Z", local(plan, 0));
    for job in &plan.jobs {
        let what = format!(
            "{}. {}",
            takes(plan, job),
            if job.critical { "The finish hangs on it." } else { "It has some room." }
        );
        let hands_to = job.from_min + job.hands_min.min(job.to_min - job.from_min);
        if job.hands_min > 0 {
            out.line("BEGIN", "VEVENT");
            out.head(prop, &job.name, "", &stamp);
            out.line("DTSTART", &local(plan, job.from_min));
            out.line("DTEND", &local(plan, hands_to));
            out.text("SUMMARY", &job.name);
            out.text("DESCRIPTION", &what);
            out.text("CATEGORIES", super::trade(job));
            if job.critical && !job.begun {
                out.alarm("-PT30M", &job.name);
            }
            out.line("END", "VEVENT");
        }
        if job.to_min > hands_to {
            out.line("BEGIN", "VEVENT");
            out.head(prop, &job.name, "waits", &stamp);
            out.line("DTSTART", &local(plan, hands_to));
            out.line("DTEND", &local(plan, job.to_min));
            out.text("SUMMARY", &format!("{}: waits by itself", job.name));
            out.text("DESCRIPTION", &what);
            out.line("TRANSP", "TRANSPARENT");
            out.line("END", "VEVENT");
        }
    }
    if let (Some(event), Some(due)) = (plan.event, plan.due_min) {
        // Some calendars hide tasks: the deadline is both.
        out.line("BEGIN", "VTODO");
        out.head(prop, "finished", "task", &stamp);
        out.line("DUE", &local(plan, due));
        out.text("SUMMARY", &format!("{prop} is finished"));
        out.text("DESCRIPTION", &format!("Planned for {}.", moment(plan, plan.finish_min)));
        out.line("END", "VTODO");
        for (name, words, minute) in [
            ("deadline", format!("{prop} must be finished"), due),
            ("event", format!("{prop}: the event"), event * DAY),
        ] {
            out.line("BEGIN", "VEVENT");
            out.head(prop, name, "", &stamp);
            // A whole day ends where the next begins.
            out.line("DTSTART;VALUE=DATE", &date(plan, minute));
            out.line("DTEND;VALUE=DATE", &date(plan, minute + DAY));
            out.text("SUMMARY", &words);
            out.line("TRANSP", "TRANSPARENT");
            out.alarm("-P1D", &words);
            out.line("END", "VEVENT");
        }
    }
    out.line("END", "VCALENDAR");
    out.0
}

/// "20260302".
fn date(plan: &Schedule, minute: i64) -> String {
    plan.day_text(minute).replace('-', "")
}

/// "20260302T180000", wherever one is.
fn local(plan: &Schedule, minute: i64) -> String {
    format!("{}T{}00", date(plan, minute), super::clock(minute).replace(':', ""))
}

/// Content lines.
struct Lines(String);

impl Lines {
    /// A line of a name and a value that needs no escape, folded after 75 octets at most, never inside a letter.
    fn line(&mut self, name: &str, value: &str) {
        let whole = format!("{name}:{value}");
        let mut room = 75;
        for letter in whole.chars() {
            if letter.len_utf8() > room {
                self.0.push_str("\r\n ");
                room = 74;
            }
            room -= letter.len_utf8();
            self.0.push(letter);
        }
        self.0.push_str("\r\n");
    }

    /// A line of text.
    fn text(&mut self, name: &str, value: &str) {
        let mut escaped = String::with_capacity(value.len());
        for letter in value.chars() {
            match letter {
                '\\' | ';' | ',' => escaped.extend(['\\', letter]),
                '\n' => escaped.push_str("\\n"),
                c if c.is_control() => {}
                c => escaped.push(c),
            }
        }
        self.line(name, &escaped);
    }

    /// What names an event in this calendar and in every later one of the same prop.
    fn head(&mut self, prop: &str, name: &str, part: &str, stamp: &str) {
        // FNV-1a of 64 bits (Fowler, Noll and Vo, RFC 9923).
        let bytes = prop.bytes().chain([0]).chain(name.bytes()).chain([0]).chain(part.bytes());
        let hash = bytes.fold(0xcbf2_9ce4_8422_2325_u64, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3));
        self.line("UID", &format!("{hash:016x}@plan.lanthorn.invalid"));
        self.line("DTSTAMP", stamp);
    }

    fn alarm(&mut self, before: &str, words: &str) {
        self.line("BEGIN", "VALARM");
        self.line("ACTION", "DISPLAY");
        self.line("TRIGGER", before);
        self.text("DESCRIPTION", words);
        self.line("END", "VALARM");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_are_folded_between_letters_and_text_is_escaped() {
        let mut out = Lines(String::new());
        out.text("SUMMARY", &format!("a,b;c\\d\n{}", "ö".repeat(90)));
        let lines: Vec<&str> = out.0.split("\r\n").collect();
        assert!(lines.len() > 3 && lines.iter().all(|l| l.len() <= 75));
        assert!(lines[1..lines.len() - 1].iter().all(|l| l.starts_with(' ')));
        let whole: String = out.0.replace("\r\n ", "");
        assert_eq!(whole, format!("SUMMARY:a\\,b\\;c\\\\d\\n{}\r\n", "ö".repeat(90)));
    }
}
