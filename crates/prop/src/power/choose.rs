//! Choosing: the least gauge, feed points, cap and fuse that hold, and what other cells would give.

use super::net::{Change, Wired, network};
use super::supply::Supply;
use super::{Design, PowerWork, hours, nearly_empty, usage};
use crate::catalogue::{Catalogue, Electrics, PartKind, PartRow};
use crate::project::{Feed, PowerRules};
use circuit::{CircuitError, Demand, Holding, State, chassis_a, smallest_fuse};

/// A pixel for 5 V works from this voltage on (published comparison of such pixels: 3.5 to 5.3 V).
pub(crate) const PIXEL_V: f64 = 3.5;
/// Gauges that are tried, thinnest first.
const GAUGES: [i32; 4] = [28, 26, 24, 22];
/// A thinner wire does if it leaves so much of the light that the thickest allows. (Our choice.)
const AS_GOOD: f64 = 0.9;
/// Wires to the far end are worth it if they give so many times the light. (Our choice.)
const WORTH: f64 = 1.2;
/// A cap is told in steps of this.
const CAP_STEP: f64 = 0.01;

/// What is tried against what.
pub(crate) struct Desk<'a> {
    pub(crate) work: &'a PowerWork<'a>,
    pub(crate) supply: &'a Supply,
    pub(crate) rules: &'a PowerRules,
    pub(crate) loudest_w: f64,
}

/// Another cell, feed or wire, and what it would give.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// What is changed, in words.
    pub what: String,
    /// The cap that the worst instant allows, 0 to 1; `None` if not even the dark prop holds.
    pub cap: Option<f64>,
    /// How long the cell lasts at the stated use under the cap of the design as it is, h.
    pub hours: f64,
    /// The same under its own cap, h.
    pub hours_at_cap: f64,
    /// What it takes besides.
    pub needs: String,
    /// Whether the prop has room for it; `None` where that was not tried.
    pub fits: Option<bool>,
}

/// The smallest cell or pair that holds the design through the day.
#[derive(Clone, Debug, PartialEq)]
pub struct Smallest {
    /// In words.
    pub what: String,
    /// How long it lasts at the stated use, h; `None` for the project's own.
    pub hours: Option<f64>,
}

/// A change to be looked at.
struct Trial<'a> {
    what: String,
    design: Design,
    change: Change,
    needs: String,
    /// The cell's row and how many, where the cell is changed.
    cell: Option<(&'a PartRow, u32)>,
}

impl Desk<'_> {
    fn wired(&self, design: &Design, change: &Change) -> Result<Wired, CircuitError> {
        network(self.work, self.supply, design, change)
    }

    /// Whether nothing starves: pixels, loads, converter and cell.
    fn holds(wired: &Wired, state: &State, most_a: f64) -> bool {
        let pixels = state.lowest_pixel().is_none_or(|p| p.2 >= PIXEL_V);
        let converters = state.converters.iter().all(|c| matches!(c.holding, Holding::Well | Holding::Passing));
        pixels && converters && state.starved.is_empty() && state.parts[wired.cell.index()].current_a <= most_a
    }

    /// The cap that the worst instant allows, in whole steps.
    pub(crate) fn cap(&self, design: &Design, change: &Change) -> Result<Option<f64>, CircuitError> {
        let wired = self.wired(design, change)?;
        let most_a = self.most_a(change);
        let flash = usage::flash(self.work);
        let demand = Demand { scene: &flash, light: 1.0, sound_w: self.loudest_w };
        let most = wired.net.most_light(&demand, &nearly_empty(self.rules), &|s| Self::holds(&wired, s, most_a))?;
        Ok(most.map(|m| (m / CAP_STEP + 1e-9).floor() * CAP_STEP))
    }

    /// Whether a design holds in the worst instant, as it is.
    pub(crate) fn carries(&self, design: &Design) -> Result<bool, CircuitError> {
        let wired = self.wired(design, &Change::default())?;
        let flash = usage::flash(self.work);
        let demand = Demand { scene: &flash, light: design.cap, sound_w: self.loudest_w };
        let state = super::solved(&wired.net, &demand, &nearly_empty(self.rules))?;
        Ok(state.is_ok_and(|s| Self::holds(&wired, &s, self.most_a(&Change::default()))))
    }

    /// What the cells bear, A.
    fn most_a(&self, change: &Change) -> f64 {
        let (cell, count) = match &change.cell {
            Some((cell, count)) => (cell, *count),
            None => (&self.work.project.parts[self.supply.cell].row.electrics, self.supply.cells),
        };
        if let Electrics::Cell { most_a, .. } = cell { most_a * f64::from(count) } else { 0.0 }
    }

    /// Gauge, feed, cap and fuse, and which of them the tool chose.
    ///
    /// # Errors
    /// As for solving.
    pub(crate) fn choose(&self) -> Result<(Design, [bool; 4]), CircuitError> {
        let gauges = self.rules.gauge.map_or_else(|| GAUGES.to_vec(), |g| vec![g as i32]);
        let can = |feed: &Feed| self.supply.can(self.work, *feed);
        let feeds: Vec<Feed> = self
            .rules
            .feed
            .map_or_else(|| vec![Feed::Start, Feed::Both], |f| vec![f])
            .into_iter()
            .filter(can)
            .collect();
        let feeds = if feeds.is_empty() { vec![Feed::Start] } else { feeds };
        let none = Change::default();
        let thickest = gauges.last().copied().unwrap_or(GAUGES[3]);
        let at = |awg: i32, feed: Feed| -> Result<f64, CircuitError> {
            let design = Design { awg, feed, cap: 1.0, fuse_a: self.guessed_fuse() };
            Ok(self.cap(&design, &none)?.unwrap_or(0.0))
        };
        // More light than the behaviour ever asks for is of no use.
        let limit = usage::limit(self.work).map(|l| ((l / CAP_STEP - 1e-9).ceil() * CAP_STEP).clamp(CAP_STEP, 1.0));
        let wanted = self.rules.cap.or(limit).unwrap_or(f64::INFINITY);
        // Feed points first: fewer, unless the others give clearly more of what is asked.
        let mut feed = feeds[0];
        let mut best = at(thickest, feed)?;
        for other in &feeds[1..] {
            let cap = at(thickest, *other)?;
            if best < wanted && cap > best * WORTH {
                (feed, best) = (*other, cap);
            }
        }
        let mut awg = thickest;
        for gauge in &gauges {
            let cap = at(*gauge, feed)?;
            if cap >= wanted.min(best * AS_GOOD) && self.bears(*gauge, feed, cap.min(wanted))? {
                awg = *gauge;
                break;
            }
        }
        let mut design =
            Design { awg, feed, cap: self.rules.cap.unwrap_or(at(awg, feed)?.min(wanted)).max(CAP_STEP), fuse_a: None };
        // The fuse follows from the load, and its resistance takes some of the light: twice round, and the cap keeps the second.
        for _ in 0..2 {
            design.fuse_a = self.fuse(&design)?;
            if self.rules.cap.is_none() {
                design.cap = self.cap(&design, &none)?.unwrap_or(CAP_STEP).clamp(CAP_STEP, design.cap.max(CAP_STEP));
            }
        }
        // Where no fuse carries the load and still saves the wire, less is drawn, unless the maker says how much.
        while design.fuse_a.is_none() && self.rules.cap.is_none() && design.cap > CAP_STEP && !self.ratings().is_empty()
        {
            design.cap = (design.cap - CAP_STEP).max(CAP_STEP);
            design.fuse_a = self.fuse(&design)?;
        }
        let said = [
            self.rules.gauge.is_some(),
            self.rules.feed.is_some(),
            self.rules.cap.is_some(),
            self.rules.fuse_a.is_some(),
        ];
        let chosen = said.map(|by_maker| !by_maker);
        Ok((design, chosen))
    }

    /// Ratings of the fuse in the project's circuit; none without one.
    fn ratings(&self) -> Vec<f64> {
        let fuse = self.supply.first(self.work, PartKind::Fuse);
        match fuse.map(|p| &self.work.project.parts[p].row.electrics) {
            Some(Electrics::Fuse { ratings_a }) => ratings_a.clone(),
            _ => Vec::new(),
        }
    }

    /// Before the load is known: what the maker says, else one of the middle, for its resistance.
    fn guessed_fuse(&self) -> Option<f64> {
        let ratings = self.ratings();
        if ratings.is_empty() { None } else { self.rules.fuse_a.or(ratings.get(ratings.len() / 2).copied()) }
    }

    /// Current of the cell in the worst instant, A: more than that no use draws for long.
    fn load_a(&self, design: &Design) -> Result<f64, CircuitError> {
        let wired =
            self.wired(&Design { fuse_a: design.fuse_a.or(self.guessed_fuse()), ..*design }, &Change::default())?;
        let flash = usage::flash(self.work);
        let demand = Demand { scene: &flash, light: design.cap, sound_w: self.loudest_w };
        let held = super::carried(&wired.net, &demand, &nearly_empty(self.rules))?;
        Ok(held.whole(held.state.parts[wired.cell.index()].current_a))
    }

    /// Whether a gauge carries what flows, by the published table.
    fn bears(&self, awg: i32, feed: Feed, cap: f64) -> Result<bool, CircuitError> {
        let load_a = self.load_a(&Design { awg, feed, cap, fuse_a: None })?;
        Ok(chassis_a(awg).is_none_or(|most| most >= load_a))
    }

    /// The fuse: the maker's, else the smallest that carries the load and saves the wire.
    fn fuse(&self, design: &Design) -> Result<Option<f64>, CircuitError> {
        let ratings = self.ratings();
        if ratings.is_empty() {
            return Ok(None);
        }
        if let Some(rated_a) = self.rules.fuse_a {
            return Ok(Some(rated_a));
        }
        let load_a = self.load_a(design)?;
        let weakest_a = chassis_a(design.awg).unwrap_or(f64::MAX).min(self.most_a(&Change::default()) * 1.5);
        Ok(smallest_fuse(&ratings, load_a.max(1e-3), weakest_a).ok())
    }

    /// What other cells, a converter, wires to the far end would give, and the smallest cell that would do. `own`: whether the
    /// project's own cell holds the design in the worst instant and through the day.
    ///
    /// # Errors
    /// As for solving.
    pub(crate) fn choices(&self, design: &Design, own: bool) -> Result<(Vec<Choice>, Option<Smallest>), CircuitError> {
        let catalogue = Catalogue::built_in();
        let trials = self.trials(design, &catalogue.parts);
        let mut choices = trials.iter().map(|t| self.looked_at(design, t)).collect::<Result<Vec<_>, _>>()?;
        let row = &self.work.project.parts[self.supply.cell].row;
        let own_g = row.mass_g * f64::from(self.supply.cells);
        let mut cells: Vec<(f64, usize)> = (0..trials.len())
            .filter_map(|k| trials[k].cell.map(|(row, count)| (row.mass_g * f64::from(count), k)))
            .filter(|(mass_g, _)| !own || *mass_g < own_g)
            .collect();
        cells.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for (_, k) in cells {
            let (choice, Some((row, count))) = (&mut choices[k], trials[k].cell) else { continue };
            let holds = choice.cap.is_some_and(|cap| cap >= design.cap - 1e-9);
            if !holds || choice.hours * 3600.0 < self.rules.day_s {
                continue;
            }
            let fits = (self.work.room_for)(row, count);
            choice.fits = Some(fits);
            if fits {
                let smallest = Smallest { what: choice.what.clone(), hours: Some(choice.hours) };
                return Ok((choices, Some(smallest)));
            }
        }
        let count = if self.supply.cells > 1 { format!("{} ", self.supply.cells) } else { "the ".to_owned() };
        let smallest = own.then(|| Smallest { what: format!("{count}{} of the project", row.name), hours: None });
        Ok((choices, smallest))
    }

    /// The changes worth a look.
    fn trials<'r>(&self, design: &Design, rows: &'r [PartRow]) -> Vec<Trial<'r>> {
        let own = &self.work.project.parts[self.supply.cell].row;
        let mut all: Vec<Trial> = Vec::new();
        let mut cells: Vec<&PartRow> = rows.iter().filter(|r| r.kind == PartKind::Cell).collect();
        cells.sort_by(|a, b| a.mass_g.total_cmp(&b.mass_g));
        for row in cells {
            let [long, wide, _] = row.size_mm;
            for count in [1, 2] {
                if row.electrics == own.electrics && count == self.supply.cells {
                    continue;
                }
                let (what, needs) = if count == 1 {
                    (format!("one {}", row.name), format!("a bay of {long} x {wide} mm"))
                } else {
                    (
                        format!("two {} side by side", row.name),
                        format!("two bays of {long} x {wide} mm, joined at equal charge"),
                    )
                };
                let change = Change { cell: Some((row.electrics.clone(), count)), converter: None };
                all.push(Trial { what, design: *design, change, needs, cell: Some((row, count)) });
            }
        }
        let mut add = |what: String, design: Design, change: Change, needs: String| {
            all.push(Trial { what, design, change, needs, cell: None });
        };
        let lit = !self.work.pixels.is_empty();
        let parts = &self.work.project.parts;
        let boosts = |p: usize| matches!(parts[p].row.electrics, Electrics::Controller { boost: Some(_), .. });
        let brain = self.supply.first(self.work, PartKind::Controller);
        let none = self.supply.first(self.work, PartKind::Converter).is_none() && brain.is_some_and(|p| !boosts(p));
        let mut converters = rows.iter().filter_map(|r| match r.electrics {
            Electrics::Converter(boost) => Some((r, boost)),
            _ => None,
        });
        if let Some((row, boost)) = converters.next().filter(|_| lit && none) {
            let [long, wide, _] = row.size_mm;
            let change = Change { cell: None, converter: Some(boost) };
            let needs = format!("a bay of {long} x {wide} mm, and data lifted to 5 V");
            add(format!("a {} before the controller", row.name), *design, change, needs);
        }
        if lit && design.feed == Feed::Start && self.supply.far_mm.is_some() {
            let needs = "two more wires to the strip: feed = \"both\"".to_owned();
            let other = Design { feed: Feed::Both, ..*design };
            add("the strip fed at both ends".to_owned(), other, Change::default(), needs);
        }
        for gauge in GAUGES.iter().filter(|g| **g < design.awg).take(1) {
            let other = Design { awg: *gauge, ..*design };
            add(format!("wires of {gauge} AWG"), other, Change::default(), "the same ways".to_owned());
        }
        all
    }

    fn looked_at(&self, design: &Design, trial: &Trial) -> Result<Choice, CircuitError> {
        let cap = self.cap(&trial.design, &trial.change)?;
        let net = self.wired(&trial.design, &trial.change)?.net;
        let lasts = |cap: f64| -> Result<f64, CircuitError> {
            let used = usage::usage(self.work, self.rules, cap, self.loudest_w);
            match net.runtime(&used, self.rules.ambient_c) {
                Ok(r) => Ok(hours(r.lasts_s)),
                Err(CircuitError::CannotCarry { .. }) => Ok(0.0),
                Err(other) => Err(other),
            }
        };
        let hours = lasts(design.cap)?;
        let hours_at_cap = cap.map_or(Ok(0.0), lasts)?;
        let (what, needs) = (trial.what.clone(), trial.needs.clone());
        Ok(Choice { what, cap, hours, hours_at_cap, needs, fits: None })
    }
}
