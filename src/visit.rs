//! The visit: what was done at one client on one day, checked and resolved.
//!
//! Comes in: the tree of a visit file with the client, kit, limits and firm it names. Goes out: a [`Visit`] in which every
//! name is resolved, or every problem at once. Next: [`crate::record`], which computes one record a loop.

mod check;
mod checks;
mod copied;
mod files;
mod glance;
mod head;
mod identity;
mod limits_of;
mod loops;
mod open;
mod plausible;
mod readings;
mod remedies;
mod standards;
mod times;
mod uses;
mod words;
mod zone;

pub use copied::{Copied, from_as_found as copied_from_as_found, from_target as copied_from_target};
pub use glance::{Glance, glance};
pub use open::{Given, Opened, given_limits, has_given_firm, is_given_limits, of_given_firm, open, open_kept};
pub use uses::{Concern, Concerns, readings_of, standards_used};

use crate::client::{Client, Identity, LoopQuantity, Probe, Site};
use crate::firm::{Person, Procedure, Role};
use crate::kit::Kit;
use crate::limits::Limits;
use crate::problem::Place;
use crate::quantity::{Celsius, Date, Measured, Milliampere, Millivolt, Moment, Ohm, Percent, Plain, Second};
use crate::source::Source;
use crate::yaml::Text;

/// A visit, valid and resolved.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// Number, unique within the firm.
    pub number: Text,
    /// Begin of the visit.
    pub started: Moment,
    /// End of the visit.
    pub finished: Option<Moment>,
    /// The client.
    pub client: Client,
    /// The site.
    pub site: Option<Site>,
    /// Order number.
    pub order: Option<Text>,
    /// Standards and instruments carried.
    pub kit: Kit,
    /// Who did the work.
    pub technicians: Vec<Person>,
    /// Procedure used.
    pub procedure: Option<Procedure>,
    /// Ambient temperature.
    pub ambient: Option<Measured<Celsius>>,
    /// Other conditions.
    pub conditions_note: Option<Text>,
    /// Loops, in file order.
    pub loops: Vec<Loop>,
    /// Signatures, in file order.
    pub signatures: Vec<Signature>,
    /// Private keys (`x-…`) with their text.
    pub extensions: Vec<(String, String)>,
    /// Every text file that was read: the visit first, then client, kit, limits, firm.
    pub sources: Vec<Source>,
}

impl Visit {
    /// The line of the visit file that a place points into; empty for places elsewhere.
    pub fn line(&self, place: &Place) -> &str {
        let is_here = place.line > 0 && place.file == self.number.place.file;
        self.lines().nth(place.line.saturating_sub(1) as usize).filter(|_| is_here).unwrap_or_default()
    }

    /// Where a character first stands in the visit file; `None` where it came from another file.
    pub fn place_of(&self, character: char) -> Option<Place> {
        let column = |line: &str| line.chars().position(|c| c == character);
        let (line, column) = self.lines().enumerate().find_map(|(line, text)| Some((line, column(text)?)))?;
        let count = |from_zero: usize| u32::try_from(from_zero + 1).unwrap_or(u32::MAX);
        Some(Place { line: count(line), column: count(column), ..Place::whole(&self.number.place.file) })
    }

    /// The lines of the visit file.
    pub fn lines(&self) -> impl Iterator<Item = &str> {
        let own = self.sources.first().and_then(|source| std::str::from_utf8(&source.bytes).ok());
        own.unwrap_or_default().trim_start_matches('\u{feff}').lines()
    }
}

/// One measuring loop of a visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Loop {
    /// Where it stands.
    pub place: Place,
    /// Tag of the measuring point.
    pub tag: Text,
    /// pH or redox.
    pub quantity: LoopQuantity,
    /// Location, range, output, analyser, usual process values: the visit's, else the roster's.
    pub identity: Identity,
    /// Probe found in the loop.
    pub probe: Probe,
    /// Who worked on this loop, where several came.
    pub by: Option<Text>,
    /// When the loop was off control.
    pub hold: Option<Hold>,
    /// Process values.
    pub process: Process,
    /// Last good check.
    pub last_good: Option<Date>,
    /// As found.
    pub as_found: AsFound,
    /// Remedies in the order performed.
    pub remedies: Vec<Remedy>,
    /// Whether slope or offset stored in the analyser was changed.
    pub adjusted: bool,
    /// As left.
    pub as_left: Option<AsLeft>,
    /// Set to a sample instead.
    pub standardised: Option<Standardised>,
    /// What became of the loop.
    pub outcome: Outcome,
    /// Next due date, agreed.
    pub next_due: Option<NextDue>,
    /// Warnings taken knowingly.
    pub accepted: Vec<Accepted>,
    /// Photos.
    pub photos: Vec<Photo>,
    /// Remarks.
    pub remarks: Option<Text>,
    /// Limits that hold for this loop.
    pub limits: Limits,
    /// Private keys (`x-…`) with their text.
    pub extensions: Vec<(String, String)>,
}

/// Off control from … to.
#[derive(Debug, Clone, PartialEq)]
pub struct Hold {
    /// Begin.
    pub from: Moment,
    /// End.
    pub to: Option<Moment>,
}

/// Process values in pH or mV.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Process {
    /// In process before cleaning.
    pub before_cleaning: Option<Measured<Plain>>,
    /// In process after cleaning.
    pub after_cleaning: Option<Measured<Plain>>,
    /// In process when back in service.
    pub back_in_service: Option<Measured<Plain>>,
}

/// Something that was obtained, or the reason why not.
#[derive(Debug, Clone, PartialEq)]
pub enum Obtained<T> {
    /// It was.
    Yes(T),
    /// It was not, for this reason.
    Not(Text),
}

/// The state before anything was done.
#[derive(Debug, Clone, PartialEq)]
pub struct AsFound(pub Obtained<State>);

/// The state in which the loop was left.
#[derive(Debug, Clone, PartialEq)]
pub struct AsLeft(pub Obtained<State>);

/// Readings and checks of one state.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct State {
    /// Readings in the order taken.
    pub readings: Vec<Reading>,
    /// Figures somebody worked out: recomputed, never used.
    pub stated: Option<Stated>,
    /// What the analyser holds.
    pub stored: Option<Stored>,
    /// Checks.
    pub checks: Checks,
}

/// One reading in a standard.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Where it stands.
    pub place: Place,
    /// Position of the standard in [`Kit::standards`].
    pub standard: usize,
    /// Potential of the probe.
    pub mv: Option<Measured<Millivolt>>,
    /// Value shown by the analyser, pH or mV.
    pub shown: Option<Measured<Plain>>,
    /// Temperature of the standard.
    pub temperature: Measured<Celsius>,
    /// Reason, where the temperature was assumed and not measured.
    pub temperature_assumed: Option<Text>,
    /// Waiting time.
    pub after: Option<Measured<Second>>,
    /// Time of the reading.
    pub at: Option<Moment>,
    /// Trace: time and potential.
    pub trace: Vec<(Measured<Second>, Measured<Millivolt>)>,
    /// Reason, where it is left out of the fit.
    pub excluded: Option<Text>,
    /// Position of the instrument in [`Kit::instruments`].
    pub with: Option<usize>,
    /// Note.
    pub note: Option<Text>,
}

/// Figures somebody worked out from the readings.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stated {
    /// Slope in percent.
    pub slope: Option<Measured<Percent>>,
    /// Offset in mV.
    pub offset: Option<Measured<Millivolt>>,
    /// Difference of two readings: standards from, to, and the difference E(to) − E(from) in magnitude as stated.
    pub difference: Option<StatedDifference>,
}

/// A stated difference between two readings.
#[derive(Debug, Clone, PartialEq)]
pub struct StatedDifference {
    /// Standard of the one reading.
    pub from: usize,
    /// Standard of the other.
    pub to: usize,
    /// The difference as stated.
    pub mv: Measured<Millivolt>,
}

/// What the analyser holds from its last calibration.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stored {
    /// Slope in percent.
    pub slope: Option<Measured<Percent>>,
    /// Offset in mV.
    pub offset: Option<Measured<Millivolt>>,
    /// Temperature compensation.
    pub compensation: Option<Compensation>,
}

/// Temperature compensation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Compensation {
    /// By the temperature element.
    Automatic,
    /// A value set by hand.
    Manual,
    /// Of the solution as well.
    Solution,
}

/// A check that was made, or the reason why not.
#[derive(Debug, Clone, PartialEq)]
pub enum Check<T> {
    /// Made.
    Done(T),
    /// Not done, for this reason.
    NotDone(Text),
}

/// Checks of one state.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Checks {
    /// In a standard not used to calibrate.
    pub standard: Option<Check<StandardCheck>>,
    /// Temperature.
    pub temperature: Option<Check<Vec<TemperatureCheck>>>,
    /// Output and control room.
    pub output: Option<Check<Vec<OutputCheck>>>,
    /// Sample.
    pub sample: Option<Check<SampleCheck>>,
    /// Glass resistance in Ω.
    pub glass_resistance: Option<Check<ResistanceCheck>>,
    /// Reference resistance in Ω.
    pub reference_resistance: Option<Check<ResistanceCheck>>,
}

/// Check in an independent standard.
#[derive(Debug, Clone, PartialEq)]
pub struct StandardCheck {
    /// Where it stands.
    pub place: Place,
    /// Position in [`Kit::standards`].
    pub standard: usize,
    /// Shown, pH or mV.
    pub shown: Measured<Plain>,
    /// Temperature of the standard.
    pub temperature: Measured<Celsius>,
}

/// Shown against reference temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct TemperatureCheck {
    /// Reference thermometer.
    pub reference: Measured<Celsius>,
    /// Shown by the analyser.
    pub shown: Option<Measured<Celsius>>,
    /// Resistance of the element.
    pub resistance: Option<Measured<Ohm>>,
}

/// Shown value against output and control room.
#[derive(Debug, Clone, PartialEq)]
pub struct OutputCheck {
    /// Shown by the analyser, pH or mV.
    pub shown: Measured<Plain>,
    /// Output current.
    pub ma: Option<Measured<Milliampere>>,
    /// Shown in the control room.
    pub control_room: Option<Measured<Plain>>,
    /// Whether the value was simulated.
    pub simulated: bool,
}

/// Shown value against a sample.
#[derive(Debug, Clone, PartialEq)]
pub struct SampleCheck {
    /// Where it stands.
    pub place: Place,
    /// Shown by the analyser.
    pub shown: Measured<Plain>,
    /// Measured in the sample.
    pub reference: Measured<Plain>,
    /// Sample taken.
    pub taken: Option<Moment>,
    /// Sample measured.
    pub measured: Option<Moment>,
    /// By whom.
    pub by: Option<Text>,
    /// Method.
    pub method: Option<Text>,
    /// Whose value it is: `client`, `firm` …, as typed.
    pub source: Option<Text>,
}

/// A resistance at a temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct ResistanceCheck {
    /// Resistance.
    pub value: Measured<Ohm>,
    /// Temperature.
    pub temperature: Option<Measured<Celsius>>,
}

/// A remedy performed.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// Where it stands.
    pub place: Place,
    /// What was done.
    pub kind: RemedyKind,
    /// Agent and strength.
    pub solution: Option<Text>,
    /// How long.
    pub lasted: Option<Measured<Second>>,
    /// When.
    pub at: Option<Moment>,
    /// Note.
    pub note: Option<Text>,
    /// Who did it.
    pub by: Option<Text>,
    /// New probe, for `probe replaced`.
    pub probe: Option<Probe>,
    /// What became of the old probe.
    pub old_probe: Option<OldProbe>,
    /// Reason.
    pub reason: Option<Text>,
    /// Readings taken after it.
    pub readings: Vec<Reading>,
}

/// What became of a replaced probe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OldProbe {
    /// Condemned.
    Condemned,
    /// Kept.
    Kept,
    /// Returned.
    Returned,
}

/// The remedies, in the trade's words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum RemedyKind {
    Rinsed,
    Wiped,
    Detergent,
    AcidSoak,
    PepsinSoak,
    Bleach,
    RehydratedInBuffer,
    StorageSoak,
    BubbleRemoved,
    ElectrolyteToppedUp,
    ReferenceSolutionReplaced,
    JunctionCleaned,
    JunctionRenewed,
    MetalPolished,
    ConnectorDried,
    CableReplaced,
    WiringCorrected,
    EarthingCorrected,
    TemperatureElementReplaced,
    AnalyserReplaced,
    OutputRescaled,
    ProbeReplaced,
    Other,
}

/// Set to a sample.
#[derive(Debug, Clone, PartialEq)]
pub struct Standardised {
    /// Shown before.
    pub shown: Measured<Plain>,
    /// Set to.
    pub set_to: Measured<Plain>,
}

/// What became of the loop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Returned to service.
    Returned,
    /// Left out of service.
    OutOfService,
    /// Condemned.
    Condemned,
}

/// A next due date that somebody agreed to.
#[derive(Debug, Clone, PartialEq)]
pub struct NextDue {
    /// The day.
    pub date: Date,
    /// Who agreed.
    pub agreed_by: Text,
}

/// A warning or acceptable error taken knowingly.
#[derive(Debug, Clone, PartialEq)]
pub struct Accepted {
    /// Its code.
    pub code: Text,
    /// The reason.
    pub reason: Text,
}

/// A photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// Path relative to the visit file.
    pub file: Text,
    /// What it shows.
    pub shows: Option<Text>,
}

/// A signature.
#[derive(Debug, Clone, PartialEq)]
pub struct Signature {
    /// What it means.
    pub role: Role,
    /// Printed name.
    pub name: Text,
    /// Date and time.
    pub signed: Option<Moment>,
}

/// Whether a file with these top keys is a visit file.
pub fn is_kind(top_keys: &[&str]) -> bool {
    top_keys.contains(&"visit")
}
