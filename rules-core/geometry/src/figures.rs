//! The small figures that measuring rests on, each with its reason. `manual/figures.md` tells the same for
//! people, and what lies between what is stored, judged and drawn.

/// One quantum of a stored pose, in millimetres: lengths that differ by less cannot be told apart on
/// a stored table. This is not the player's tolerance, which belongs to the ruleset.
pub const EPS_MM: f64 = 0.001;

/// What storing can do, in millimetres: an end that lies exactly on a limit is kept as the nearest whole
/// pose that breaks no limit, up to 4 quanta off in each coordinate, so what a law says of *exactly*
/// is said of this much either way.
pub const TOUCH_MM: f64 = 5.0 * EPS_MM;

/// What arithmetic can do to a length, in millimetres: numbers of the size of a table carry about 1e-13 of
/// rounding, and a measurement takes a few thousand steps at most.
pub const ARITHMETIC_MM: f64 = 1e-9;

/// What arithmetic can do to any other number: strengths, points, shares and angles are sums and products
/// of authored decimals, which are exact to about 1e-16 of their worth, so a billionth reads 0.1 × 3
/// against 0.3 as the 1:1 it is.
pub const ARITHMETIC: f64 = 1e-9;

/// A length or a lean that is none: below it a division would give arithmetic instead of a place.
pub const NOTHING: f64 = 1e-12;

/// Shares of a motion closer together than this are one event: far below a nanometre on any tape.
pub(super) const SAME_SHARE: f64 = 1e-11;

/// How far beyond the end of a stretch a meeting is still listed as an event, in millimetres: a thousandth
/// of a quantum. Between events a measurement decides, so a meeting too many costs time and nothing else.
pub(super) const MEETING_MM: f64 = 1e-6;

/// A straight tape that leans less than this against a stretch (0.06°) may merely run along it.
pub(super) const SHALLOW: f64 = 1e-3;

/// How far beside a line is beside it, in millimetres: a tenth of a quantum, so that a stored place beside a
/// line always has a side and one on it never has.
pub(super) const BESIDE_MM: f64 = EPS_MM / 10.0;
