//! When somebody is there: hours of each day of the week, and spans in which nobody is.

/// Minutes of a day.
pub const DAY: i64 = 24 * 60;

/// From a minute up to, and without, another. Minutes are counted from the plan's first midnight.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// The first minute.
    pub from: i64,
    /// The first minute after.
    pub to: i64,
}

impl Span {
    /// From a minute up to another.
    pub fn new(from: i64, to: i64) -> Span {
        Span { from, to }
    }

    /// The whole of a day, counted from 0.
    pub fn day(day: i64) -> Span {
        Span { from: day * DAY, to: (day + 1) * DAY }
    }

    /// Its length, minutes.
    pub fn minutes(self) -> i64 {
        self.to - self.from
    }
}

/// Open hours. Day 0 is the plan's first; the caller knows which weekday it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Calendar {
    /// Open spans of days 0, 7, 14, ..., then of days 1, 8, ..., and so on, in minutes of the day. At most [`DAY`].
    pub week: [Vec<Span>; 7],
    /// Closed whatever the week says.
    pub off: Vec<Span>,
}

impl Calendar {
    /// Day and night.
    pub fn always() -> Calendar {
        Calendar::daily(0, DAY)
    }

    /// Every day from a minute of the day to another.
    pub fn daily(from: i64, to: i64) -> Calendar {
        Calendar { week: std::array::from_fn(|_| vec![Span::new(from, to)]), off: Vec::new() }
    }

    /// The same with a day off.
    #[must_use]
    pub fn without_day(self, day: i64) -> Calendar {
        self.without(Span::day(day))
    }

    /// The same, closed in a span.
    #[must_use]
    pub fn without(mut self, span: Span) -> Calendar {
        self.off.push(span);
        self
    }

    /// Open spans from minute 0 to a horizon, in order, none touching the next.
    pub fn open(&self, horizon: i64) -> Vec<Span> {
        let mut off: Vec<Span> = self.off.iter().copied().filter(|s| s.to > s.from).collect();
        off.sort();
        let mut open: Vec<Span> = Vec::new();
        let mut add = |from: i64, to: i64| match open.last_mut() {
            _ if to <= from => {}
            Some(last) if last.to >= from => last.to = last.to.max(to),
            _ => open.push(Span { from, to }),
        };
        let mut next_off = 0;
        let mut day = 0;
        while day * DAY < horizon {
            let mut hours = self.week[day.rem_euclid(7) as usize].clone();
            hours.sort();
            for span in hours {
                let (mut from, to) = (day * DAY + span.from.max(0), (day * DAY + span.to.min(DAY)).min(horizon));
                while off.get(next_off).is_some_and(|o| o.to <= from) {
                    next_off += 1;
                }
                for gap in &off[next_off..] {
                    if gap.from >= to {
                        break;
                    }
                    add(from, gap.from.min(to));
                    from = from.max(gap.to);
                }
                add(from, to);
            }
            day += 1;
        }
        open
    }

    /// The longest span that is open in a week without anything off, minutes; `None` when it never closes.
    pub fn longest_minutes(&self) -> Option<i64> {
        let whole = Calendar { week: self.week.clone(), off: Vec::new() }.open(21 * DAY);
        match whole.as_slice() {
            [one] if one.minutes() == 21 * DAY => None,
            spans => Some(spans.iter().map(|s| s.minutes()).max().unwrap_or(0)),
        }
    }
}

/// The earliest minute, not before the one given, from which so many minutes lie in one open span.
pub(crate) fn fit(open: &[Span], at: i64, minutes: i64) -> Option<i64> {
    let first = open.partition_point(|s| s.to <= at);
    open[first..].iter().find_map(|s| Some(at.max(s.from)).filter(|from| from + minutes <= s.to))
}

/// The latest minute, not after the one given, from which so many minutes lie in one open span.
pub(crate) fn fit_back(open: &[Span], at: i64, minutes: i64) -> Option<i64> {
    let after = open.partition_point(|s| s.from <= at);
    open[..after].iter().rev().find_map(|s| Some(at.min(s.to - minutes)).filter(|from| *from >= s.from))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_week_with_a_day_off_opens_as_written() {
        let mut calendar = Calendar::daily(540, 1020).without_day(1).without(Span::new(2 * DAY + 600, 2 * DAY + 660));
        calendar.week[3] = Vec::new();
        let open = calendar.open(5 * DAY);
        let want = [
            (540, 1020),
            (2 * DAY + 540, 2 * DAY + 600),
            (2 * DAY + 660, 2 * DAY + 1020),
            (4 * DAY + 540, 4 * DAY + 1020),
        ];
        assert_eq!(open, want.map(|(a, b)| Span::new(a, b)));
        assert_eq!(calendar.longest_minutes(), Some(480));
        assert_eq!(fit(&open, 900, 120), Some(900));
        assert_eq!(fit(&open, 901, 120), Some(2 * DAY + 660));
        assert_eq!(fit_back(&open, 2 * DAY, 120), Some(900));
        assert_eq!(fit(&open, 0, 481), None);
    }

    #[test]
    fn day_and_night_is_one_span() {
        assert_eq!(Calendar::always().open(3 * DAY), [Span::new(0, 3 * DAY)]);
        assert_eq!(Calendar::always().longest_minutes(), None);
        let mut nights = Calendar::daily(0, 0);
        nights.week[0] = vec![Span::new(1200, DAY)];
        nights.week[1] = vec![Span::new(0, 300)];
        assert_eq!(nights.longest_minutes(), Some(540));
    }
}
