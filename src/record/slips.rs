//! Slips in the record: what would explain an implausible set, what was copied, what was stated and is not so.

use super::states::buffer;
use super::*;
use crate::client::LoopQuantity;
use crate::engine::Typed;
use crate::engine::shown::Stored as Held;
use crate::engine::slips::{Figure, Kind, Reading as Typing, Slip, Suspicion, search};
use crate::quantity::{Measured, Unit};
use crate::rounding::{DecimalSign, fixed};
use crate::visit::{Copied, Loop, Obtained, Reading, State, Stored, Visit, copied_from_as_found, copied_from_target};

/// One slip that would explain what is implausible. Data are never changed by it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct SlipRecord {
    /// `buffers-exchanged`, `sign-lost`, `digits-exchanged`, `point-moved`, `fahrenheit`, `volts`, `buffer-family`,
    /// `ph-as-mv`, `copied-from-as-found`, `copied-from-target`, `stated-disagrees`.
    pub code: &'static str,
    pub figures: SlipFigures,
    /// Sentences in the language of the reader; only `check --format json` adds them.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub said: Option<SlipSaid>,
}

/// What a slip is and what speaks for it, in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct SlipSaid {
    pub what: String,
    pub evidence: String,
}

/// Numbers and names of a slip; null where it has none.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct SlipFigures {
    /// `as found`, `after «remedy»`, `as left`.
    pub stage: String,
    /// Position in `readings`, from 0.
    pub row: Option<usize>,
    /// Short name of the reading's standard.
    pub reading: Option<String>,
    /// Position of the other reading, where two stand for each other.
    pub other_row: Option<usize>,
    pub other: Option<String>,
    /// Whether every reading of the set has the slip.
    pub all: bool,
    /// `in`, `mv`, `temperature`, `shown`, `slope`, `offset`, `difference`.
    pub figure: &'static str,
    /// The figure as typed.
    pub typed: Option<String>,
    /// What would stand there, in `unit`; a stated figure: what the readings give.
    pub would_be: Option<f64>,
    /// Decimals it deserves by what was typed.
    pub decimals: usize,
    pub unit: &'static str,
    /// The buffer that the bottle would be.
    pub would_be_buffer: Option<String>,
    /// Of the set as typed.
    pub slope_percent_typed: Option<f64>,
    pub offset_mv_typed: Option<f64>,
    /// Of the set without the slip.
    pub slope_percent: Option<f64>,
    pub offset_mv: Option<f64>,
}

/// What the search says about one set of readings of a pH loop, and the row of the set that each position in it stands
/// for; `None` for a plausible set. `stored`: what the analyser held while they were taken.
pub fn suspicion(visit: &Visit, readings: &[Reading], stored: Option<&Stored>) -> Option<(Suspicion, Vec<usize>)> {
    let typing = |reading: &Reading| {
        let value = buffer(visit, reading.standard)?;
        Some(Typing {
            standard: reading.standard,
            value,
            mv: typed(reading.mv.as_ref()?),
            temperature_c: typed(&reading.temperature),
            shown: reading.shown.as_ref().map(typed),
        })
    };
    let counted = readings.iter().enumerate().filter(|(_, reading)| reading.excluded.is_none());
    let (rows, set): (Vec<usize>, Vec<Typing<'_>>) =
        counted.filter_map(|(row, reading)| Some((row, typing(reading)?))).unzip();
    let held = stored.and_then(|stored| {
        let (slope, offset) = Option::zip(stored.slope.as_ref(), stored.offset.as_ref())?;
        Some(Held { slope_percent: typed(slope), offset_mv: typed(offset) })
    });
    Some((search(&set, held)?, rows))
}

fn typed<U: Unit>(number: &Measured<U>) -> Typed {
    Typed { value: number.value, step: number.step }
}

/// Every slip of a loop, in the order of its states.
pub fn list(visit: &Visit, subject: &Loop, as_found: &StateRecord, as_left: Option<&StateRecord>) -> Vec<SlipRecord> {
    let (found, left) = (obtained(&subject.as_found.0), subject.as_left.as_ref().and_then(|left| obtained(&left.0)));
    let mut slips = Vec::new();
    let mut state = |stage: &str, state: Option<&State>, record: Option<&StateRecord>, adjusted: bool| {
        let Some(state) = state else { return };
        set(&mut slips, visit, subject, stage, &state.readings, state.stored.as_ref());
        if let Some(shown) = copied_from_target(&visit.kit, state, adjusted) {
            let typed = Some(shown.text.clone());
            slips.push(said_of(Kind::CopiedFromTarget, SlipFigures { typed, figure: "shown", all: true, ..at(stage) }));
        }
        slips.extend(record.iter().flat_map(|record| &record.stated).filter_map(|stated| disagreeing(stage, stated)));
    };
    state("as found", found, Some(as_found), false);
    state("as left", left, as_left, subject.adjusted);
    for remedy in &subject.remedies {
        set(&mut slips, visit, subject, &format!("after «{}»", remedy.kind.word()), &remedy.readings, None);
    }
    let copied =
        Option::zip(found, left).and_then(|(found, left)| copied_from_as_found(found, left, &subject.remedies));
    if let Some(copied) = copied {
        let figure = match copied {
            Copied::Everything => "shown",
            Copied::Potentials => "mv",
        };
        slips.push(said_of(Kind::CopiedFromAsFound, SlipFigures { figure, all: true, ..at("as left") }));
    }
    slips
}

fn obtained(state: &Obtained<State>) -> Option<&State> {
    match state {
        Obtained::Yes(state) => Some(state),
        Obtained::Not(_) => None,
    }
}

fn at(stage: &str) -> SlipFigures {
    SlipFigures { stage: stage.to_owned(), ..SlipFigures::default() }
}

fn said_of(kind: Kind, figures: SlipFigures) -> SlipRecord {
    SlipRecord { code: kind.code(), figures, said: None }
}

fn set(
    slips: &mut Vec<SlipRecord>,
    visit: &Visit,
    subject: &Loop,
    stage: &str,
    readings: &[Reading],
    stored: Option<&Stored>,
) {
    if subject.quantity == LoopQuantity::Redox {
        return;
    }
    let Some((suspicion, rows)) = suspicion(visit, readings, stored) else { return };
    slips.extend(suspicion.slips.iter().map(|slip| found(visit, stage, readings, &rows, &suspicion, slip)));
}

fn found(
    visit: &Visit,
    stage: &str,
    readings: &[Reading],
    rows: &[usize],
    suspicion: &Suspicion,
    slip: &Slip,
) -> SlipRecord {
    let name = |row: usize| visit.kit.standards[readings[rows[row]].standard].name.text.clone();
    let reading = &readings[rows[slip.row]];
    let (figure, typed, unit) = match slip.figure {
        Figure::Standard => ("in", Some(name(slip.row)), ""),
        Figure::Mv => ("mv", reading.mv.as_ref().map(|mv| mv.text.clone()), "mV"),
        Figure::Temperature => ("temperature", Some(reading.temperature.text.clone()), "°C"),
    };
    let figures = SlipFigures {
        row: Some(rows[slip.row]),
        reading: Some(name(slip.row)),
        other_row: slip.other.map(|other| rows[other]),
        other: slip.other.map(name),
        all: slip.all,
        figure,
        typed,
        would_be: slip.would_be.map(|typed| typed.value),
        decimals: slip.would_be.map_or(0, |typed| decimals(typed.step)),
        unit,
        would_be_buffer: slip.buffer.map(|buffer| buffer.name().to_owned()),
        slope_percent_typed: suspicion.slope_percent,
        offset_mv_typed: suspicion.offset_mv,
        slope_percent: slip.slope_percent,
        offset_mv: slip.offset_mv,
        ..at(stage)
    };
    said_of(slip.kind, figures)
}

/// Decimals of a step: 0.1 has one.
fn decimals(step: f64) -> usize {
    (-step.log10()).round().clamp(0.0, 6.0) as usize
}

fn disagreeing(stage: &str, stated: &StatedRecord) -> Option<SlipRecord> {
    let figures = SlipFigures {
        figure: match stated.figure.as_str() {
            "slope" => "slope",
            "offset" => "offset",
            _ => "difference",
        },
        reading: stated.between.clone(),
        typed: Some(stated.stated_typed.clone()),
        would_be: stated.computed,
        decimals: 1,
        unit: if stated.unit == "%" { "%" } else { "mV" },
        ..at(stage)
    };
    (stated.agrees == Some(false)).then(|| said_of(Kind::StatedDisagrees, figures))
}

impl SlipFigures {
    /// What would stand there, with the decimals it deserves and its unit; empty where it is not known.
    pub fn would_be_text(&self, sign: DecimalSign) -> String {
        let number = self.would_be.map(|value| fixed(value, self.decimals, sign));
        number.map_or_else(String::new, |number| crate::rounding::with_unit(&number, self.unit))
    }
}
