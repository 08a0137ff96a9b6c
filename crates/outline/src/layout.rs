//! Which way a thing lies in its drawing, and how large it is meant to be.

use crate::drawing::{DrawingError, Drawn};
use crate::span::Span;
use glam::DVec2;

/// Where in the drawing the butt is; the tip is opposite.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Butt {
    /// On the left.
    Left,
    /// On the right.
    Right,
    /// Below.
    Below,
    /// Above.
    Above,
}

impl Butt {
    /// Turned so that the butt is on the left. The drawing is turned, never mirrored.
    fn turn(self, p: DVec2) -> DVec2 {
        match self {
            Butt::Left => p,
            Butt::Right => -p,
            Butt::Below => DVec2::new(p.y, -p.x),
            Butt::Above => DVec2::new(-p.y, p.x),
        }
    }

    fn back(self, p: DVec2) -> DVec2 {
        match self {
            Butt::Below => Butt::Above.turn(p),
            Butt::Above => Butt::Below.turn(p),
            same => same.turn(p),
        }
    }
}

/// From a drawing to the thing at its size: butt at x = 0, the middle of what is drawn at y = 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layout {
    butt: Butt,
    /// Millimetres of the thing to a millimetre of the drawing.
    pub scale: f64,
    /// Butt and middle in the turned drawing, mm.
    from_mm: DVec2,
    /// Length and breadth as drawn, mm.
    pub drawn_mm: [f64; 2],
}

impl Layout {
    /// The layout of all outlines of a drawing together, scaled to a length, mm, or as large as drawn.
    ///
    /// # Errors
    /// [`DrawingError::Empty`] without outlines; [`DrawingError::Form`] where they have no length.
    pub fn of(outlines: &[Drawn], butt: Butt, length_mm: Option<f64>) -> Result<Layout, DrawingError> {
        let first = outlines.first().ok_or(DrawingError::Empty)?;
        let ends = |(low, high): (DVec2, DVec2), p: DVec2| (low.min(p), high.max(p));
        let turned = outlines.iter().flat_map(|o| &o.points).map(|p| butt.turn(*p));
        let (low, high) = turned.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), ends);
        let drawn_mm = (high - low).to_array();
        let scale = length_mm.unwrap_or(drawn_mm[0]) / drawn_mm[0];
        if !(drawn_mm[0] > 0.0 && scale.is_finite() && scale > 0.0) {
            return Err(crate::Fault::Flat.of(&first.name));
        }
        Ok(Layout { butt, scale, from_mm: DVec2::new(low.x, 0.5 * (low.y + high.y)), drawn_mm })
    }

    /// An outline of this drawing as its edges, at its size.
    ///
    /// # Errors
    /// [`DrawingError::Form`] with its place in the drawing.
    pub fn span(&self, outline: &Drawn) -> Result<Span, DrawingError> {
        let placed: Vec<DVec2> =
            outline.points.iter().map(|p| (self.butt.turn(*p) - self.from_mm) * self.scale).collect();
        Span::of(&placed)
            .map_err(|fault| fault.moved(|p| self.butt.back(p / self.scale + self.from_mm)).of(&outline.name))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Fault;
    use crate::span::HOOK;

    fn kite(turn: impl Fn(DVec2) -> DVec2) -> [Drawn; 1] {
        let corners = [(0.0, 0.0), (30.0, 10.0), (100.0, 0.0), (30.0, -20.0)];
        [Drawn { name: "kite".into(), points: corners.map(|(x, y)| turn(DVec2::new(x, y))).to_vec() }]
    }

    #[test]
    fn whichever_way_it_is_drawn_it_lies_the_same() -> Result<(), DrawingError> {
        for butt in [Butt::Left, Butt::Right, Butt::Below, Butt::Above] {
            // Drawn with its butt there, somewhere on the sheet.
            let drawing = kite(|p| butt.back(p) + DVec2::new(40.0, -70.0));
            let layout = Layout::of(&drawing, butt, Some(1000.0))?;
            let span = layout.span(&drawing[0])?;
            assert_eq!((layout.scale, layout.drawn_mm), (10.0, [100.0, 30.0]), "{butt:?}");
            // The middle between 10 and -20 is 5 below the line of its points.
            assert_eq!((span.reach_mm(), span.at(300.0)), ([0.0, 1000.0], [-150.0, 150.0]), "{butt:?}");
        }
        Ok(())
    }

    #[test]
    fn places_lead_back_to_the_drawing() {
        for butt in [Butt::Left, Butt::Right, Butt::Below, Butt::Above] {
            let shift = DVec2::new(7.0, 3.0);
            let points = HOOK.map(|(x, y)| butt.back(DVec2::new(x, y)) + shift).to_vec();
            let drawing = [Drawn { name: "hook".into(), points }];
            let found = Layout::of(&drawing, butt, Some(600.0)).and_then(|l| l.span(&drawing[0]));
            let Err(DrawingError::Form { fault: Fault::RunsBack { at_mm }, .. }) = found else {
                panic!("{found:?}");
            };
            let near = HOOK.map(|(x, y)| (butt.back(DVec2::new(x, y)) + shift) * DVec2::new(1.0, -1.0));
            assert!(near.iter().any(|p| p.distance(DVec2::from_array(at_mm)) < 0.1), "{butt:?} {at_mm:?}");
        }
    }
}
