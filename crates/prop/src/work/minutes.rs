//! How long things take, in minutes of hands or of waiting. All of it common practice, no source, where nothing else is said.

/// A test print of the coupon, and its measuring: two to four hours and half an hour.
pub(super) const COUPON: i64 = 150;
pub(super) const MEASURE: i64 = 30;
/// Clearing the bed and starting a plate.
pub(super) const START: i64 = 15;
/// A plate cools before its pieces come off.
pub(super) const COOL: i64 = 20;
/// Taking a piece off, its brim and supports away.
pub(super) const CLEAN: i64 = 10;
/// Washing a piece of resin; curing it in light.
pub(super) const WASH: i64 = 15;
pub(super) const CURE: i64 = 30;
/// Cutting, stripping and soldering one wire at both ends.
pub(super) const SOLDER: i64 = 8;
/// Cutting a length of strip and its leads; cutting a length of spine.
pub(super) const STRIP: i64 = 20;
pub(super) const SPINE: i64 = 15;
/// The whole circuit on the table, and how long it stays lit there.
pub(super) const BENCH: i64 = 45;
pub(super) const SOAK: i64 = 120;
/// Fitting a joint dry; trying a part in its place; setting magnets or inserts, and their glue.
pub(super) const DRY_FIT: i64 = 15;
pub(super) const TRY: i64 = 10;
pub(super) const SET: i64 = 20;
pub(super) const SET_CURES: i64 = 60;
/// Lining a piece from inside.
pub(super) const LINE: i64 = 15;
/// Strip and spine into the first piece.
pub(super) const LAY_IN: i64 = 20;
/// The next piece over strip, spine and wires.
pub(super) const THREAD: i64 = 10;
/// Scuffing, wiping, spreading and pressing a joint.
pub(super) const GLUE: i64 = 20;
/// Every pixel lit and looked at.
pub(super) const LIGHT: i64 = 10;
/// How soon a joint is glued after the light was seen, where the glue gives no time for it afterwards.
pub(super) const AT_ONCE: i64 = 30;
/// Stirring filler for a seam; so many mm of it are filled in a minute; until it can be sanded, where nobody says: 20 to 40 minutes.
pub(super) const FILL: i64 = 5;
pub(super) const FILL_MM: f64 = 20.0;
pub(super) const FILL_SETS: i64 = 40;
/// Share of the sanding before the first coat; the rest is between coats of primer.
pub(super) const BEFORE: f64 = 0.6;
/// Longest sanding at a stretch.
pub(super) const STRETCH: i64 = 120;
/// Masking a window, with so many mm of its length a minute more; pulling the mask.
pub(super) const MASK: i64 = 10;
pub(super) const MASK_MM: f64 = 60.0;
pub(super) const PULL: i64 = 10;
/// Masks come off within a day of the last coat: tape is left on for 24 to 48 h at most.
pub(super) const PULL_WITHIN: i64 = 24 * 60;
/// Setting up a coat and cleaning after it, and minutes for a square decimetre: a coat is laid in two or three light passes.
pub(super) const COAT: i64 = 15;
pub(super) const COAT_DM2: f64 = 1.5;
/// Covering a room in which something is sprayed that is longer than the booth; airing it after a coat, begun within so long.
pub(super) const COVER_ROOM: i64 = 30;
pub(super) const AIR: i64 = 60;
pub(super) const AIRED_WITHIN: i64 = 15;
/// Last fittings: a part, a lid, a cover, a joint that comes apart.
pub(super) const FIT: i64 = 10;
/// A wrap: fastening both ends; each turn; each crossing.
pub(super) const WRAP: i64 = 20;
pub(super) const WRAP_TURN: f64 = 0.3;
pub(super) const WRAP_CROSSING: f64 = 2.0;
/// Thresholds, brightness, volume.
pub(super) const TUNE: i64 = 120;
/// A port is tried.
pub(super) const PORT: i64 = 10;
/// Carried in costume.
pub(super) const CARRY: i64 = 60;
/// Work of hands: from 0.8 to 1.6 of what is planned.
pub(super) const HANDS: [f64; 3] = [0.8, 1.0, 1.6];
