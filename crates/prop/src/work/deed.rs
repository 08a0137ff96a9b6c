//! What a job does, for whoever tells it in words and pictures.

use super::Trade;

/// What a job does, and to what.
#[derive(Clone, Debug, PartialEq)]
pub enum Deed {
    /// The test print of a printer is printed.
    PrintCoupon {
        /// Name of the printer.
        printer: String,
    },
    /// That print is measured.
    MeasureCoupon {
        /// Name of the printer.
        printer: String,
    },
    /// A plate is printed.
    Print {
        /// Place of the plate in the outcome.
        plate: usize,
    },
    /// A piece comes off the bed, its brim away; or it is got where it is on no plate.
    Clean {
        /// Number of the piece.
        piece: u32,
    },
    /// A piece of resin is washed.
    Wash {
        /// Number of the piece.
        piece: u32,
    },
    /// A piece of resin is cured.
    Cure {
        /// Number of the piece.
        piece: u32,
    },
    /// A length of spine is cut.
    CutSpine {
        /// Place among the outcome's spines.
        bar: usize,
    },
    /// A length of strip is cut and gets its leads.
    CutStrip {
        /// Place among the outcome's strips.
        bar: usize,
    },
    /// The wires of one connection are cut and soldered.
    Solder {
        /// Number of the connection.
        wire: u32,
    },
    /// The whole circuit is lit on the bench.
    BenchTest,
    /// A piece is lined from inside.
    Line {
        /// Number of the piece.
        piece: u32,
    },
    /// A joint is fitted dry.
    FitDry {
        /// Number of the joint.
        joint: u32,
    },
    /// A part is tried in its place.
    TryPart {
        /// Its letter.
        part: char,
    },
    /// Magnets and inserts are set.
    SetHardware {
        /// Number of the piece.
        piece: u32,
    },
    /// Strip, spine and wires are laid in.
    LayIn,
    /// The next piece goes over strip, spine and wires.
    Thread {
        /// Number of the joint.
        joint: u32,
    },
    /// A joint is glued.
    Glue {
        /// Number of the joint.
        joint: u32,
    },
    /// The light is looked at beyond a joint.
    SeeLight {
        /// Number of the joint.
        joint: u32,
    },
    /// A seam is filled.
    Fill {
        /// Number of the joint.
        joint: u32,
    },
    /// A stretch of sanding.
    Sand,
    /// A window is masked.
    Mask {
        /// Its name.
        window: String,
    },
    /// A coat is laid.
    Coat {
        /// Bodies that get it.
        bodies: Vec<String>,
        /// Which coat: 0 next to the plastic.
        layer: usize,
    },
    /// The mask comes off.
    Unmask {
        /// Name of the window.
        window: String,
    },
    /// A room is covered in which something is sprayed.
    CoverRoom,
    /// It is aired.
    AirRoom,
    /// A part goes in.
    FitPart {
        /// Its letter.
        part: char,
    },
    /// A grip is wrapped.
    Wrap {
        /// Place among the wraps of the finish.
        wrap: usize,
    },
    /// A lid is closed.
    CloseLid {
        /// Number of its piece.
        piece: u32,
    },
    /// A cover is put on.
    PutOn,
    /// A joint that comes apart is closed.
    CloseJoint {
        /// Number of the joint.
        joint: u32,
    },
    /// A port is tried with all closed.
    TryPort {
        /// Letter of the part.
        part: char,
    },
    /// Thresholds, brightness and volume are set.
    Tune,
    /// The prop is carried for an hour.
    Carry,
}

impl Deed {
    /// The trade it belongs to.
    pub fn trade(&self) -> Trade {
        use Deed::*;
        match self {
            PrintCoupon { .. } | MeasureCoupon { .. } | Print { .. } | Clean { .. } | Wash { .. } | Cure { .. } => {
                Trade::Printing
            }
            CutSpine { .. } | CutStrip { .. } | Solder { .. } | BenchTest => Trade::Wiring,
            Line { .. }
            | FitDry { .. }
            | TryPart { .. }
            | SetHardware { .. }
            | LayIn
            | Thread { .. }
            | Glue { .. }
            | SeeLight { .. } => Trade::Joining,
            Fill { .. } | Sand | Mask { .. } | Coat { .. } | Unmask { .. } | CoverRoom | AirRoom => Trade::Finishing,
            FitPart { .. }
            | Wrap { .. }
            | CloseLid { .. }
            | PutOn
            | CloseJoint { .. }
            | TryPort { .. }
            | Tune
            | Carry => Trade::Ending,
        }
    }
}
