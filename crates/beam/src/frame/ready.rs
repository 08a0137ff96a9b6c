//! A frame that is asked more than once: what does not depend on loads is worked out once.

use super::assembled::{Assembled, assembled};
use super::modes::{Shape, mode, shapes};
use super::{Frame, FrameError, Mode};
use solid::skyline::Factor;

/// A frame that holds, ready to be loaded ([`Ready::still`], [`Ready::pulse`]).
#[derive(Debug)]
pub struct Ready<'a> {
    pub(super) assembled: Assembled<'a>,
    /// Of its stiffness with every joint holding.
    pub(super) factor: Factor,
    /// Followed in a pulse.
    pub(super) shapes: Vec<Shape>,
}

impl<'a> Ready<'a> {
    /// A frame whose modes are not followed: in a [`Ready::pulse`] all of it goes with the loads at once.
    ///
    /// # Errors
    ///
    /// See [`FrameError`].
    pub fn new(frame: &'a Frame) -> Result<Self, FrameError> {
        let assembled = assembled(frame)?;
        let factor = assembled.factor(assembled.stiffness())?;
        Ok(Self { assembled, factor, shapes: Vec::new() })
    }

    /// The same with its slowest `modes` followed in time.
    ///
    /// # Errors
    ///
    /// See [`FrameError`].
    pub fn following(mut self, modes: usize) -> Result<Self, FrameError> {
        self.shapes = shapes(&self.assembled, &self.factor, modes)?;
        Ok(self)
    }

    /// The slowest `count` modes, slowest first; fewer where the frame has fewer.
    ///
    /// # Errors
    ///
    /// See [`FrameError`].
    pub fn modes(&self, count: usize) -> Result<Vec<Mode>, FrameError> {
        let found = shapes(&self.assembled, &self.factor, count)?;
        Ok(found.iter().map(|shape| mode(&self.assembled, shape)).collect())
    }
}
