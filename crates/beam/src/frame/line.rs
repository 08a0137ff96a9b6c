//! One bar with a varying section along a path, cut by joints, as a frame.

use glam::DVec3;

use super::{Bar, Frame, FrameError, Hold, Joint, PointMass, Span, Support};

/// A place along a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// How far along, mm; more than at the stop before.
    pub station_mm: f64,
    /// Where it is: the section's weighted centroid.
    pub at_mm: DVec3,
    /// Roughly where the section's y points.
    pub across: DVec3,
    /// The bar from here to the next stop; that of the last stop is not asked.
    pub bar: Bar,
    /// A bar that runs along inside it to the next stop, as a loose spine does in its rail: each bends about its own
    /// middle, so their stiffness adds up and nothing is won by distance. The two are tied at the stops in place and
    /// twist, so a pull along the bar is shared by EA, and beside a joint that turns freely no stop should be nearer than
    /// the rail bears.
    pub core: Option<Bar>,
    /// How the pieces before and after this stop hold together, where they are two: turns about x, y, z and play.
    /// `core` runs on through it.
    pub joint: Option<([Hold; 3], [f64; 3])>,
}

/// A frame with the nodes of its stops.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The frame: add loads, further joints, supports.
    pub frame: Frame,
    /// For each stop the node where the bar before it ends and that where the bar after it begins: the same where there
    /// is no joint.
    pub nodes: Vec<[usize; 2]>,
    /// For each stop but the last, the span after it.
    pub spans: Vec<usize>,
    /// For each stop but the last, the span of its `core`.
    pub cores: Vec<Option<usize>>,
    stations_mm: Vec<f64>,
}

/// A line through stops, neither held nor loaded.
///
/// # Errors
///
/// Too few stops, or stops out of order. What is wrong with a bar or a joint comes to light when the frame is solved.
pub fn line(stops: &[Stop]) -> Result<Line, FrameError> {
    if stops.len() < 2 {
        return Err(FrameError::Short { stops: stops.len() });
    }
    let later = |w: &[Stop]| w[1].station_mm > w[0].station_mm;
    if let Some(stop) = stops.windows(2).position(|w| !later(w)) {
        return Err(FrameError::Order { stop: stop + 1, at_mm: stops[stop + 1].station_mm });
    }
    let mut made = Line {
        frame: Frame::default(),
        nodes: Vec::with_capacity(stops.len()),
        spans: Vec::new(),
        cores: Vec::new(),
        stations_mm: stops.iter().map(|s| s.station_mm).collect(),
    };
    let frame = &mut made.frame;
    // The core's nodes: it may turn against the rest about y and z, and so bends by its own stiffness.
    let mut core_before: Option<usize> = None;
    for (idx, stop) in stops.iter().enumerate() {
        let ahead =
            stops.get(idx + 1).map_or(stop.at_mm - stops[idx - usize::from(idx > 0)].at_mm, |n| n.at_mm - stop.at_mm);
        let before = frame.node(stop.at_mm);
        let after = match stop.joint.filter(|_| idx > 0 && idx + 1 < stops.len()) {
            None => before,
            Some((turns, play_rad)) => {
                let after = frame.node(stop.at_mm);
                let joint = Joint::turning([before, after], ahead, stop.across, turns);
                frame.joints.push(Joint { play_rad, ..joint });
                after
            }
        };
        let core_after = stop.core.filter(|_| idx + 1 < stops.len());
        let core_here = (core_before.is_some() || core_after.is_some()).then(|| {
            let node = frame.node(stop.at_mm);
            let turns = [Hold::Firm, Hold::Free, Hold::Free];
            frame.joints.push(Joint::turning([before, node], ahead, stop.across, turns));
            node
        });
        if let Some([_, last]) = made.nodes.last().copied() {
            let start = stops[idx - 1];
            made.spans.push(frame.span(last, before, &start, start.bar));
            let core = start.core.zip(core_before).zip(core_here);
            made.cores.push(core.map(|((bar, from), to)| frame.span(from, to, &start, bar)));
        }
        core_before = core_after.and(core_here);
        made.nodes.push([before, after]);
    }
    Ok(made)
}

impl Frame {
    fn node(&mut self, at_mm: DVec3) -> usize {
        self.nodes.push(at_mm);
        self.nodes.len() - 1
    }

    fn span(&mut self, from: usize, to: usize, stop: &Stop, bar: Bar) -> usize {
        self.spans.push(Span { from, to, across: stop.across, bar });
        self.spans.len() - 1
    }
}

impl Line {
    /// The stop nearest to a station.
    #[must_use]
    pub fn stop_near(&self, station_mm: f64) -> usize {
        let after = self.stations_mm.partition_point(|s| *s < station_mm).min(self.stations_mm.len() - 1);
        let before = after.saturating_sub(1);
        let off = |s: usize| (self.stations_mm[s] - station_mm).abs();
        if off(before) <= off(after) { before } else { after }
    }

    /// The node nearest to a station, that after the joint where there is one.
    #[must_use]
    pub fn node_near(&self, station_mm: f64) -> usize {
        self.nodes[self.stop_near(station_mm)][1]
    }

    /// Puts a mass somewhere, carried by the node nearest to a station.
    pub fn carry(&mut self, mass_g: f64, station_mm: f64, at_mm: DVec3) {
        let node = self.node_near(station_mm);
        self.frame.masses.push(PointMass { node, mass_g, arm_mm: at_mm - self.frame.nodes[node] });
    }

    /// The frame with these supports instead of its own.
    #[must_use]
    pub fn held(&self, supports: &[Support]) -> Frame {
        Frame { supports: supports.to_vec(), ..self.frame.clone() }
    }
}
