//! A loop at one visit, read back from the record that was kept when its document was issued.
//!
//! Only what is followed over time is read; records of every released version have these keys.

use super::history::{complete_gains, instant};
use super::{LimitRecord, OutcomeWord, Point, PointFigures, Quantity, RemedyGain, SourceFacts, Stage, Verdict};
use serde::de::IgnoredAny;
use serde::{Deserialize, Serialize};

/// One loop at one visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// What is followed over time.
    pub point: Point,
    /// Where the loop measures.
    pub location: Option<String>,
    /// Language of the client, where its file names one.
    pub language: Option<String>,
    /// The state found.
    pub found: KeptState,
    /// The state left; none where nothing was read after what was found.
    pub left: Option<KeptState>,
    /// The error found that came closest to its limit or went farthest beyond.
    pub found_error: Option<KeptError>,
    /// Whether slope or offset stored in the analyser was changed.
    pub adjusted: bool,
    /// `returned to service`, `left out of service`, `condemned`.
    pub outcome: String,
    /// The limits of slope, offset and error: at the state left where they were judged there, else found.
    limits: Vec<(String, LimitRecord)>,
}

/// One state, as far as it is told over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct KeptState {
    pub verdict: Option<Verdict>,
    /// Whether a criterion was inside its fail limit and outside its warn limit.
    pub warned: bool,
    /// Reason, where the state was not obtained.
    pub not_obtained: Option<String>,
    pub slope_percent: Option<f64>,
    pub offset_mv: Option<f64>,
    /// Redox loops: the error of largest magnitude.
    pub error_mv: Option<f64>,
    /// Redox loops with two solutions.
    pub gain_percent: Option<f64>,
}

/// An error as found, as judged.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct KeptError {
    /// Standard in which it was found.
    pub of: Option<String>,
    /// Shown minus true value.
    pub value: f64,
    /// `mV`; empty for pH.
    pub unit: String,
    /// Decimals the value deserves by what was typed.
    pub decimals: usize,
    /// Largest error that is no failure (without a fail limit, that warns not).
    pub limit: Option<f64>,
    pub limit_decimals: usize,
    pub expanded_uncertainty: Option<f64>,
}

impl Kept {
    /// Reads the record of one loop.
    ///
    /// # Errors
    /// What the parser says.
    pub fn read(json: &[u8]) -> Result<Kept, serde_json::Error> {
        serde_json::from_slice(json).map(Kept::of)
    }

    /// The limits of a criterion by its key in the limits file: `slope`, `offset`, `as_found_error`.
    pub fn limit(&self, name: &str) -> LimitRecord {
        let found = self.limits.iter().find(|(of, _)| of == name);
        found.map(|(_, limit)| limit.clone()).unwrap_or_default()
    }

    fn of(stored: Stored) -> Kept {
        let Stored { tag, quantity, visit, client, of_loop, sources, verdict, as_found, as_left, remedies, .. } =
            stored;
        let touched = as_left.is_some() || of_loop.adjusted || of_loop.standardised.is_some() || !remedies.is_empty();
        let (found, left) = (
            as_found.told(&stored.criteria, Stage::AsFound),
            as_left.map(|state| state.told(&stored.criteria, Stage::AsLeft)),
        );
        let figures = found.figures();
        let figures_left = if touched { left.as_ref().and_then(KeptState::figures) } else { figures };
        let mut remedies = remedies;
        complete_gains(&mut remedies, figures, figures_left);
        let probe = of_loop.probe;
        let point = Point {
            client: client.name,
            tag,
            quantity,
            instant: instant(&visit.started),
            visit: visit.number,
            started: visit.started,
            source: sources.into_iter().next().unwrap_or_default(),
            serial_left: of_loop.probe_left.map_or_else(|| probe.serial.clone(), |left| left.serial),
            serial: probe.serial,
            installed: probe.installed,
            junction_renewed: probe.junction_renewed,
            found: figures,
            left: figures_left,
            touched,
            remedies,
            verdict,
        };
        Kept {
            point,
            location: of_loop.location,
            language: client.language,
            found_error: found_error(&stored.criteria),
            limits: limits(&stored.criteria),
            found,
            left,
            adjusted: of_loop.adjusted,
            outcome: of_loop.outcome,
        }
    }
}

impl KeptState {
    fn figures(&self) -> Option<PointFigures> {
        let &KeptState { slope_percent, offset_mv, error_mv, .. } = self;
        Some(PointFigures { slope_percent, offset_mv, error_mv }).filter(|of| *of != PointFigures::default())
    }
}

/// The error found that came closest to its limit or went farthest beyond; where none is limited, the largest.
fn found_error(criteria: &[Criterion]) -> Option<KeptError> {
    let errors = criteria.iter().filter(|criterion| criterion.name == "as_found_error");
    let told = errors.filter_map(|criterion| {
        Some(KeptError {
            of: criterion.of.clone(),
            value: criterion.value?,
            unit: criterion.unit.clone(),
            decimals: criterion.decimals,
            limit: criterion.limit.fail_high.or(criterion.limit.warn_high),
            limit_decimals: criterion.limit.decimals,
            expanded_uncertainty: criterion.expanded_uncertainty,
        })
    });
    let share = |error: &KeptError| (error.limit.is_some(), error.value.abs() / error.limit.unwrap_or(1.0));
    told.max_by(|a, b| {
        let ((a_limited, a), (b_limited, b)) = (share(a), share(b));
        a_limited.cmp(&b_limited).then(a.total_cmp(&b))
    })
}

/// Limits of what is followed, those of the state left first.
fn limits(criteria: &[Criterion]) -> Vec<(String, LimitRecord)> {
    let followed = |criterion: &&Criterion| matches!(&*criterion.name, "slope" | "offset" | "as_found_error");
    let mut limits: Vec<&Criterion> = criteria.iter().filter(followed).collect();
    limits.sort_by_key(|criterion| criterion.stage == Stage::AsFound);
    limits.into_iter().map(|criterion| (criterion.name.clone(), criterion.limit.clone())).collect()
}

/// The keys of a record that are read.
#[derive(Deserialize)]
struct Stored {
    tag: String,
    quantity: Quantity,
    visit: StoredVisit,
    client: StoredClient,
    #[serde(rename = "loop")]
    of_loop: StoredLoop,
    #[serde(default)]
    sources: Vec<SourceFacts>,
    verdict: Option<Verdict>,
    as_found: StoredState,
    as_left: Option<StoredState>,
    #[serde(default)]
    remedies: Vec<RemedyGain>,
    #[serde(default)]
    criteria: Vec<Criterion>,
}

#[derive(Deserialize)]
struct StoredVisit {
    number: String,
    started: String,
}

#[derive(Deserialize)]
struct StoredClient {
    name: String,
    language: Option<String>,
}

#[derive(Deserialize)]
struct StoredLoop {
    location: Option<String>,
    probe: StoredProbe,
    probe_left: Option<StoredProbe>,
    adjusted: bool,
    standardised: Option<IgnoredAny>,
    outcome: String,
}

#[derive(Deserialize)]
struct StoredProbe {
    serial: Option<String>,
    installed: Option<String>,
    junction_renewed: Option<String>,
}

#[derive(Deserialize)]
struct StoredState {
    verdict: Option<Verdict>,
    not_obtained: Option<String>,
    slope_percent: Option<f64>,
    offset_mv: Option<f64>,
    gain_percent: Option<f64>,
    #[serde(default)]
    readings: Vec<StoredReading>,
}

#[derive(Deserialize)]
struct StoredReading {
    error_mv: Option<f64>,
}

#[derive(Deserialize)]
struct Criterion {
    name: String,
    stage: Stage,
    of: Option<String>,
    value: Option<f64>,
    #[serde(default)]
    unit: String,
    #[serde(default)]
    decimals: usize,
    #[serde(default)]
    limit: LimitRecord,
    expanded_uncertainty: Option<f64>,
    #[serde(default)]
    outcome: OutcomeWord,
}

impl StoredState {
    fn told(&self, criteria: &[Criterion], stage: Stage) -> KeptState {
        let errors = self.readings.iter().filter_map(|reading| reading.error_mv);
        KeptState {
            verdict: self.verdict,
            warned: criteria.iter().any(|it| it.stage == stage && it.outcome == OutcomeWord::Warn),
            not_obtained: self.not_obtained.clone(),
            slope_percent: self.slope_percent,
            offset_mv: self.offset_mv,
            error_mv: errors.max_by(|a, b| a.abs().total_cmp(&b.abs())),
            gain_percent: self.gain_percent,
        }
    }
}
