//! What the readings say: pure functions of numbers.
//!
//! Comes in: readings as plain numbers with the published values of their standards from [`crate::reference`]. Goes out:
//! facts (slope, offset, errors, agreement); nothing is judged and no text is made. Next: [`crate::record`].
//!
//! - [`mod@line`]: the line of least squares,
//! - [`fit`]: slope and offset of a pH probe,
//! - [`shown`]: what the analyser should have shown,
//! - [`stated`]: figures that somebody worked out from the readings,
//! - [`settling`]: how a probe came to its final value,
//! - [`slips`]: the single slip of the pen that makes an implausible set plausible,
//! - [`student`], [`uncertainty`]: how well the figures are known,
//! - [`temperature`], [`output`], [`redox`]: the other checks of a loop,
//! - [`diagnosis`]: what the figures point to, and what each remedy did,
//! - [`history`]: how a probe ages over several visits,
//! - [`interval`]: how long a loop may go until it is checked again.

pub mod diagnosis;
pub mod fit;
pub mod history;
pub mod interval;
pub mod line;
pub mod output;
pub mod redox;
pub mod settling;
pub mod shown;
pub mod slips;
pub mod stated;
pub mod student;
pub mod temperature;
pub mod uncertainty;

/// A figure as typed: its value and the step of its last digit, both in the unit of its key (`168` → 1, `168.0` → 0.1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Typed {
    /// The value.
    pub value: f64,
    /// The step of the last digit, positive or 0 for an exact figure.
    pub step: f64,
}

/// A typed figure laid beside the computed one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// What the readings give.
    pub computed: f64,
    /// Typed minus computed.
    pub difference: f64,
    /// How far rounding alone can set the two apart: half the step of the typed figure plus half the step of each
    /// figure that the computed one rests on, times its effect, all to the bad side.
    pub slack: f64,
    /// Whether |difference| ≤ slack.
    pub agrees: bool,
}

/// Comparisons allow this much more for binary fractions.
///
/// Source: our own choice, far below any typed digit.
const BINARY_SLACK: f64 = 1e-9;

/// Lays a typed figure beside the computed one; `computed_slack` is what the rounding of the inputs may do to the latter.
fn agreement(typed: Typed, computed: f64, computed_slack: f64) -> Agreement {
    let difference = typed.value - computed;
    let slack = typed.step / 2.0 + computed_slack + BINARY_SLACK;
    Agreement { computed, difference, slack, agrees: difference.abs() <= slack }
}
