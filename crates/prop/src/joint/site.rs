//! Where the joints that come apart lie, which piece carries the plug and how far it reaches: settled before the rail is
//! laid, since the spine ends there.

use crate::outcome::{Body, Role};
use crate::path::CentrePath;
use crate::project::{Hardware, JointRules, Project, Side};

/// A joint this near to where two bodies meet is meant to lie there, mm.
const SNAP_MM: f64 = 10.0;
/// Engagement of a plug that carries load, in depths of the section (common practice: 1.5 to 2).
const DEPTHS: f64 = 1.5;
/// A joint nearer than this many depths to an end of the prop holds a cap and carries nothing (our choice).
const CAP_DEPTHS: f64 = 2.0;
/// What a cap's plug reaches, mm: room for its lugs, for a screw, for a key.
const CAP_REACH_MM: [f64; 3] = [16.0, 14.0, 4.0];
/// The longest plug that is taken unasked, mm.
const LONGEST_MM: f64 = 80.0;
/// Material behind a plug's root and behind its socket's floor, mm.
const ROOT_MM: f64 = 4.0;
/// The plug's end stays so far from the spine's, mm.
const SPINE_BACK_MM: f64 = 1.0;

/// A joint that comes apart, in its place.
#[derive(Clone, Debug)]
pub struct Site<'a> {
    /// What the maker asks for.
    pub rules: &'a JointRules,
    /// Station, mm.
    pub station_mm: f64,
    /// Whether two bodies meet here.
    pub meeting: bool,
    /// Which piece carries the plug.
    pub plug: Side,
    /// How far the plug reaches into the other piece, mm.
    pub reach_mm: f64,
    /// Thickness of the section, mm.
    pub depth_mm: f64,
    /// Whether it holds a cap at an end of the prop.
    pub cap: bool,
    /// How far the butt side's spine stands beyond the cut, mm; negative where the tip side's stands into the butt side.
    pub stands_mm: f64,
}

impl Site<'_> {
    /// Stations that plug and socket take up, mm: nothing else has room there.
    pub fn span_mm(&self) -> [f64; 2] {
        match self.plug {
            Side::Butt => [self.station_mm - ROOT_MM, self.station_mm + self.reach_mm + ROOT_MM],
            Side::Tip => [self.station_mm - self.reach_mm - ROOT_MM, self.station_mm + ROOT_MM],
        }
    }
}

/// The joints that come apart, by station. `core` are the bodies that are not covers, from the butt.
pub fn sites<'a>(project: &'a Project, core: &[&Body], path: &CentrePath) -> Vec<Site<'a>> {
    let mut sites: Vec<Site> = project.joints.iter().map(|rules| site(rules, core, path)).collect();
    sites.sort_by(|a, b| a.station_mm.total_cmp(&b.station_mm));
    sites
}

fn site<'a>(rules: &'a JointRules, core: &[&Body], path: &CentrePath) -> Site<'a> {
    let meetings = core.windows(2).map(|w| (w[0].station_mm[1] + w[1].station_mm[0]) / 2.0);
    let near = meetings.min_by(|a, b| (a - rules.at_mm).abs().total_cmp(&(b - rules.at_mm).abs()));
    let near = near.filter(|m| (m - rules.at_mm).abs() <= SNAP_MM);
    let station_mm = near.unwrap_or(rules.at_mm);
    let body_at = |s: f64| core.iter().find(|b| s >= b.station_mm[0] && s <= b.station_mm[1]);
    let sides = [body_at(station_mm - 2.0), body_at(station_mm + 2.0)];
    let thickness = |body: Option<&&Body>, off: f64| {
        let slice = body.map(|b| crate::slices::slices(&b.mesh, &[path.point(station_mm).x + off])[0])?;
        let size = (slice.high - slice.low).min_element();
        size.is_finite().then_some(size)
    };
    let depth_mm =
        thickness(sides[0], -1.0).unwrap_or(f64::INFINITY).min(thickness(sides[1], 1.0).unwrap_or(f64::INFINITY));
    let depth_mm = if depth_mm.is_finite() { depth_mm } else { 0.0 };
    let cap = station_mm.min(path.length_mm() - station_mm) < CAP_DEPTHS * depth_mm;
    // The socket wants solid material: a lit body has but an end block.
    let lit = |side: usize| sides[side].is_some_and(|b| b.role == Role::Lit);
    let plug = rules.plug.unwrap_or(if lit(1) && !lit(0) { Side::Tip } else { Side::Butt });
    let usual = match rules.hardware {
        Hardware::Bayonet { .. } => CAP_REACH_MM[0],
        Hardware::Screws { .. } => CAP_REACH_MM[1],
        Hardware::Magnets { .. } => CAP_REACH_MM[2],
    };
    let reach_mm = rules.reach_mm.unwrap_or(if cap { usual } else { (DEPTHS * depth_mm).min(LONGEST_MM).max(usual) });
    let in_plug = (reach_mm - SPINE_BACK_MM).max(0.0);
    let stands_mm = match (rules.rod_stands_mm, plug) {
        (Some(stands), _) => stands,
        (None, _) if cap => 0.0,
        (None, Side::Butt) => in_plug,
        (None, Side::Tip) => -in_plug,
    };
    Site { rules, station_mm, meeting: near.is_some(), plug, reach_mm, depth_mm, cap, stands_mm }
}
