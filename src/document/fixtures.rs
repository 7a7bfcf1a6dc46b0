//! Records as `record` would hand them over, for the tests of this room. Figures by the formulas of the fit, written out.

use crate::firm::{DecimalSign, Firm, Paper, Role};
use crate::problem::Place;
use crate::record::*;
use crate::yaml::Text;

/// One reading: standard, buffer pH, mV, °C, shown.
pub(super) type Point = (&'static str, f64, &'static str, &'static str, &'static str);

fn text(text: &str) -> Text {
    Text {
        text: text.into(),
        place: Place {
            file: "firm.yaml".into(),
            line: 1,
            column: 1,
            path: String::new(),
        },
    }
}

/// An invented firm.
pub(super) fn firm() -> Firm {
    Firm {
        name: Some(text("Quillfen Instrument Service")),
        address: vec!["2 Tannery Yard".into(), "Ostwick".into()],
        contact: Some(text("lab@quillfen.example.com")),
        logo: None,
        accent: [0x1d, 0x4f, 0x5c],
        paper: Paper::A4,
        decimal_sign: DecimalSign::Point,
        numbering: "{visit}-{loop}".into(),
        footer: None,
        accreditation: None,
        limits: None,
        procedure: None,
        people: vec![],
        signatures: vec![Role::Performed, Role::Authorised],
        attachments: true,
        language: None,
        extensions: vec![],
        interval_days: None,
    }
}

fn nernst(t: f64) -> f64 {
    1000.0 * 10f64.ln() * 8.314_462_618_153_24 * (t + 273.15) / 96_485.332_123_310_02
}

fn number(text: &str) -> f64 {
    text.parse().unwrap()
}

/// Figures of pH readings.
pub(super) fn figures(points: &[Point]) -> Figures {
    let n = points.len() as f64;
    let x: Vec<f64> = points
        .iter()
        .map(|p| nernst(number(p.3)) * (7.0 - p.1))
        .collect();
    let e: Vec<f64> = points.iter().map(|p| number(p.2)).collect();
    let (mx, me) = (x.iter().sum::<f64>() / n, e.iter().sum::<f64>() / n);
    let sxx: f64 = x.iter().map(|v| (v - mx).powi(2)).sum();
    let sxe: f64 = x.iter().zip(&e).map(|(v, w)| (v - mx) * (w - me)).sum();
    let see: f64 = e.iter().map(|w| (w - me).powi(2)).sum();
    let fitted = sxx > 1e-3;
    let slope = sxe / sxx;
    let offset = me - slope * mx;
    let mean = points.iter().map(|p| number(p.3)).sum::<f64>() / n;
    let residual =
        |i: usize| (e[i] - offset - slope * x[i]) / (-slope * nernst(number(points[i].3)));
    let ss: f64 = (0..points.len())
        .map(|i| (e[i] - offset - slope * x[i]).powi(2))
        .sum();
    let readings = points.iter().enumerate().map(|(i, p)| ReadingRecord {
        standard: p.0.into(),
        mv: Some(number(p.2)),
        mv_typed: Some(p.2.into()),
        temperature_c: number(p.3),
        temperature_typed: p.3.into(),
        buffer_ph: Some(p.1),
        nernst_mv_per_ph: Some(nernst(number(p.3))),
        fitted_mv: fitted.then(|| offset + slope * x[i]),
        residual_ph: fitted.then(|| residual(i)),
        shown_ph: (!p.4.is_empty()).then(|| number(p.4)),
        error_ph: (!p.4.is_empty()).then(|| number(p.4) - p.1),
        shown_typed: (!p.4.is_empty()).then(|| p.4.into()),
        shown_decimals: Some(2),
        after_typed: Some(["60 s", "75 s", "2 min"][i % 3].into()),
        ..ReadingRecord::default()
    });
    Figures {
        slope_percent: fitted.then_some(slope * 100.0),
        slope_mv_per_ph_25c: fitted.then_some(slope * nernst(25.0)),
        slope_mv_per_ph: fitted.then_some(slope * nernst(mean)),
        mean_temperature_c: Some(mean),
        offset_mv: fitted.then_some(offset),
        zero_point_ph: fitted.then_some(7.0 + offset / (slope * nernst(mean))),
        residual_sd_mv: (fitted && points.len() > 2).then(|| (ss / (n - 2.0)).sqrt()),
        correlation: (fitted && points.len() > 2).then(|| sxe / (sxx * see).sqrt()),
        gain_percent: None,
        readings: readings.collect(),
        segments: vec![],
    }
}

fn state(points: &[Point], verdict: Option<Verdict>) -> StateRecord {
    StateRecord {
        verdict,
        figures: figures(points),
        ..StateRecord::default()
    }
}

/// A criterion with bounds `[fail low, warn low, warn high, fail high]`.
pub(super) fn criterion(
    name: &'static str,
    stage: Stage,
    of: Option<&str>,
    value: f64,
    unit: &'static str,
    bounds: [Option<f64>; 4],
) -> CriterionRecord {
    let [fail_low, warn_low, warn_high, fail_high] = bounds;
    let below = |b: Option<f64>| b.is_some_and(|b| value < b);
    let above = |b: Option<f64>| b.is_some_and(|b| value > b);
    let outcome = if below(fail_low) || above(fail_high) {
        OutcomeWord::Fail
    } else if below(warn_low) || above(warn_high) {
        OutcomeWord::Warn
    } else {
        OutcomeWord::Pass
    };
    let decimals = match unit {
        "" => 2,
        "°C" => 1,
        _ => 0,
    };
    CriterionRecord {
        name,
        stage,
        of: of.map(Into::into),
        value: Some(value),
        unit,
        decimals,
        limit: LimitRecord {
            warn_low,
            warn_high,
            fail_low,
            fail_high,
            decimals,
        },
        expanded_uncertainty: None,
        probability_of_conformity: None,
        outcome,
        reason: None,
    }
}

fn fit_criteria(stage: Stage, figures: &Figures) -> Vec<CriterionRecord> {
    let error = |name, limit: f64| {
        let worst = figures
            .readings
            .iter()
            .filter_map(|r| Some((r.error_ph?, r.standard.clone())));
        let worst = worst.max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
        worst.map(|(e, of)| {
            criterion(
                name,
                stage,
                Some(&of),
                e,
                "",
                [Some(-limit), None, None, Some(limit)],
            )
        })
    };
    let slope = figures.slope_percent.map(|v| {
        criterion(
            "slope",
            stage,
            None,
            v,
            "%",
            [Some(70.0), Some(80.0), None, Some(105.0)],
        )
    });
    let offset = figures.offset_mv.map(|v| {
        criterion(
            "offset",
            stage,
            None,
            v,
            "mV",
            [Some(-50.0), Some(-30.0), Some(30.0), Some(50.0)],
        )
    });
    let error = match stage {
        Stage::AsFound => error("as_found_error", 0.2),
        Stage::AsLeft => error("as_left_error", 0.05),
    };
    [slope, offset, error].into_iter().flatten().collect()
}

fn standard(name: &str, kind: &str, lot: &str) -> StandardFacts {
    StandardFacts {
        name: name.into(),
        kind: kind.into(),
        value_from: "published equation".into(),
        maker: Some("Orrin Buffers".into()),
        lot: Some(lot.into()),
        expires: Some("2027-03-31".into()),
        opened: Some("2026-04-28".into()),
        certificate: Some(format!("OB-{lot}")),
        expanded_uncertainty: Some(0.01),
        expanded_uncertainty_typed: Some("0.010".into()),
        coverage_factor: 2.0,
        coverage_factor_assumed: name == "B10",
        ..StandardFacts::default()
    }
}

fn facts() -> (VisitFacts, ClientFacts, LoopFacts) {
    let visit = VisitFacts {
        number: "QV-2026-061".into(),
        started: "2026-05-12T09:05+02:00".into(),
        finished: Some("2026-05-12T10:40+02:00".into()),
        site: Some(SiteFacts {
            name: "Effluent plant".into(),
            address: vec!["Mill Lane 4".into(), "Lowbridge".into()],
            time_zone: None,
        }),
        order: Some("44-1093".into()),
        technicians: vec![PersonFacts {
            name: "J. Tarnow".into(),
            qualification: Some("field technician".into()),
        }],
        procedure: Some(ProcedureFacts {
            name: "QP-07".into(),
            revision: Some("1.10".into()),
        }),
        ambient_c: Some(14.0),
        ambient_typed: Some("14 °C".into()),
        conditions: Some("basin in normal flow".into()),
        signatures: vec![
            SignatureFacts {
                role: "performed".into(),
                name: "J. Tarnow".into(),
                signed: Some("2026-05-12T10:52+02:00".into()),
            },
            SignatureFacts {
                role: "authorised".into(),
                name: "M. Oselin".into(),
                signed: Some("2026-05-13T08:15+02:00".into()),
            },
        ],
        extensions: vec![],
    };
    let client = ClientFacts {
        name: "Marrowby Dairies".into(),
        address: vec!["Churn Road 11".into(), "Marrowby".into()],
        contact: Some("quality@marrowby.example.com".into()),
    };
    let device = |make: &str, model: &str, serial: &str| DeviceFacts {
        make: Some(make.into()),
        model: Some(model.into()),
        serial: Some(serial.into()),
    };
    let measuring_loop = LoopFacts {
        location: Some("outlet of the equalisation basin".into()),
        range: Some(["2".into(), "12".into()]),
        output: Some("4-20 mA".into()),
        analyser: Some(device("Tessaly", "T40", "7F-20417")),
        probe: ProbeFacts {
            make: Some("Tessaly".into()),
            model: Some("K2".into()),
            serial: Some("K2-88310".into()),
            reference: Some("Ag/AgCl 3 mol/L".into()),
            temperature_element: Some("Pt1000".into()),
            installed: Some("2025-02-11".into()),
            junction_renewed: None,
            condition: Some("thin film on the bulb".into()),
        },
        hold_from: Some("2026-05-12T09:10+02:00".into()),
        hold_to: Some("2026-05-12T10:30+02:00".into()),
        process: ProcessFacts {
            usual: Some(["6.5".into(), "8.5".into()]),
            before_cleaning: Some("7.31".into()),
            after_cleaning: Some("7.22".into()),
            back_in_service: Some("7.20".into()),
            conductivity: Some("900 µS/cm".into()),
            fouling: Some(-0.09),
        },
        last_good: Some("2026-02-03".into()),
        adjusted: true,
        outcome: "returned to service".into(),
        ..LoopFacts::default()
    };
    (visit, client, measuring_loop)
}

fn record(tag: &str, as_found: StateRecord) -> Record {
    let (visit, client, measuring_loop) = facts();
    let sources = ["visit.yaml", "kit.yaml", "firm.yaml"];
    Record {
        tag: tag.into(),
        quantity: Quantity::Ph,
        visit,
        client,
        measuring_loop,
        standards: vec![
            standard("B7", "phosphate", "P7-6618"),
            standard("B4", "phthalate", "P4-6620"),
            standard("B10", "carbonate", "C10-231"),
            standard("B9", "borax", "X9-118"),
        ],
        instruments: vec![InstrumentFacts {
            name: "T88".into(),
            measures: "temperature".into(),
            make: Some("Norvane".into()),
            model: None,
            serial: Some("00123".into()),
            certificate: Some("NV-2201".into()),
            calibrated: Some("2026-01-11".into()),
            due: Some("2027-01-11".into()),
            expanded_uncertainty: Some(0.2),
            expanded_uncertainty_typed: Some("0.2 °C".into()),
            coverage_factor: 2.0,
            coverage_factor_assumed: true,
        }],
        limits: LimitFacts {
            name: "effluent-ph".into(),
            revision: Some("3".into()),
            effective: Some("2026-01-01".into()),
            approved_by: Some("R. Hollin".into()),
            basis: Some("permit 2019-44".into()),
            built_in: false,
            requirements: "permit".into(),
            decision: "simple".into(),
        },
        program: "halfcell 0.1.0".into(),
        sources: sources
            .iter()
            .map(|name| SourceFacts {
                name: (*name).into(),
                sha256: "b41f09c255d17a0e".repeat(4),
            })
            .collect(),
        certificate: CertificateFacts {
            number: Some(format!("QV-2026-061-{tag}")),
            kind: "original".into(),
            issued: Some("2026-05-13T08:15+02:00".into()),
            ..CertificateFacts::default()
        },
        verdict: None,
        as_found,
        as_left: None,
        remedies: vec![],
        condition: None,
        criteria: vec![],
        deviations: vec![],
    }
}

const WEAK: [Point; 3] = [
    ("B7", 6.874, "-20.6", "19.6", "7.18"),
    ("B4", 4.001, "111.7", "19.8", "4.31"),
    ("B10", 10.066, "-166.3", "19.5", "9.66"),
];
const LEFT: [Point; 3] = [
    ("B7", 6.874, "-5.9", "19.6", "6.88"),
    ("B4", 4.001, "157.20", "19.8", "4.01"),
    ("B10", 10.066, "-186.1", "19.5", "10.05"),
];

fn remedy(
    word: &str,
    solution: Option<&str>,
    lasted: Option<&str>,
    points: &[Point],
    before: f64,
) -> RemedyRecord {
    let after = (!points.is_empty()).then(|| figures(points));
    RemedyRecord {
        remedy: word.into(),
        solution: solution.map(Into::into),
        lasted: lasted.map(Into::into),
        slope_gained_percent: after.as_ref().and_then(|f| Some(f.slope_percent? - before)),
        after,
        ..RemedyRecord::default()
    }
}

fn checks(points: &[Point]) -> StateRecord {
    let mut state = state(points, Some(Verdict::Pass));
    state.checks = ChecksRecord {
        standard: Some(StandardCheckRecord {
            standard: "B9".into(),
            shown: 9.25,
            shown_typed: "9.25".into(),
            temperature_c: 19.6,
            temperature_typed: "19.6".into(),
            expected: 9.2276,
            error: 0.0224,
            decimals: 2,
        }),
        temperature: vec![TemperatureCheckRecord {
            reference_c: 19.6,
            reference_typed: "19.6".into(),
            shown_c: Some(19.9),
            shown_typed: Some("19.9".into()),
            error_c: Some(0.3),
            decimals: 1,
            resistance_ohm: Some(1077.5),
            resistance_typed: Some("1077.5 Ω".into()),
            resistance_means_c: Some(19.90),
            cost_at_ph_4: Some(0.0031),
        }],
        output: vec![OutputCheckRecord {
            shown: 7.0,
            shown_typed: "7.00".into(),
            ma: Some(12.02),
            ma_typed: Some("12.02".into()),
            expected_ma: Some(12.0),
            error_percent: Some(0.125),
            control_room: Some(7.01),
            control_room_typed: Some("7.01".into()),
            control_room_error_percent: Some(0.1),
            fault_current: None,
            simulated: true,
        }],
        sample: Some(SampleCheckRecord {
            shown: 7.20,
            shown_typed: "7.20".into(),
            reference: 7.26,
            reference_typed: "7.26".into(),
            difference: -0.06,
            decimals: 2,
            taken: Some("2026-05-12T10:05+02:00".into()),
            measured: Some("2026-05-12T10:31+02:00".into()),
            minutes: Some(26.0),
            within_holding_time: Some(false),
            by: Some("P. Wendle".into()),
            method: Some("bench meter".into()),
            source: Some("client".into()),
        }),
        glass_resistance: Some(ResistanceRecord {
            ohm: 180e6,
            typed: "180 MΩ".into(),
            temperature_c: Some(22.0),
            temperature_typed: Some("22".into()),
        }),
        reference_resistance: None,
        not_done: vec![],
    };
    state
}

fn check_criteria() -> Vec<CriterionRecord> {
    let both = |limit: f64| [Some(-limit), None, None, Some(limit)];
    let left = Stage::AsLeft;
    let mut output = criterion(
        "output",
        left,
        Some("current"),
        0.125,
        "% of span",
        both(0.5),
    );
    output.decimals = 2;
    output.limit.decimals = 1;
    let mut sample = criterion(
        "sample",
        left,
        None,
        -0.06,
        "",
        [None, Some(-0.2), Some(0.2), None],
    );
    sample.limit.decimals = 2;
    vec![
        criterion("check_standard", left, Some("B9"), 0.0224, "", both(0.1)),
        criterion("temperature", left, None, 0.3, "°C", both(1.0)),
        output,
        sample,
    ]
}

/// A weak probe restored.
pub(super) fn restored() -> Record {
    let mut found = state(&WEAK, Some(Verdict::Fail));
    found.stored = Some(StoredRecord {
        slope_percent: Some(97.1),
        slope_typed: Some("97.1".into()),
        offset_mv: Some(2.0),
        offset_typed: Some("2 mV".into()),
        compensation: Some("automatic".into()),
        largest_disagreement_ph: Some(0.04),
        agrees: Some(false),
    });
    found.stated = vec![StatedRecord {
        figure: "difference".into(),
        between: Some("B7 to B4".into()),
        unit: "mV".into(),
        stated: 160.0,
        stated_typed: "160".into(),
        computed: Some(132.3),
        agrees: Some(false),
    }];
    found.figures.segments = vec![
        SegmentRecord {
            from_ph: 4.001,
            to_ph: 6.874,
            slope_percent: 79.1,
        },
        SegmentRecord {
            from_ph: 6.874,
            to_ph: 10.066,
            slope_percent: 78.5,
        },
    ];
    let mut record = record("AIT-310", found);
    let renewed: [Point; 2] = [
        ("B7", 6.874, "-9.1", "19.6", ""),
        ("B4", 4.001, "146.2", "19.8", ""),
    ];
    let rinsed: [Point; 2] = [
        ("B7", 6.874, "-20.1", "19.6", ""),
        ("B4", 4.001, "112.6", "19.8", ""),
    ];
    record.remedies = vec![
        remedy("rinsed", None, None, &rinsed, 78.7),
        remedy(
            "reference solution replaced",
            Some("3 mol/L KCl"),
            None,
            &renewed,
            79.4,
        ),
        remedy(
            "acid soak",
            Some("0.1 mol/L HCl"),
            Some("15 min"),
            &LEFT,
            92.9,
        ),
    ];
    record.remedies[0].at = Some("2026-05-12T09:40+02:00".into());
    record.remedies[0].note = Some("with <b>tap</b> water & a soft tissue".into());
    record.criteria = fit_criteria(Stage::AsFound, &record.as_found.figures);
    record.as_left = Some(checks(&LEFT));
    record
        .criteria
        .extend(fit_criteria(Stage::AsLeft, &figures(&LEFT)));
    record.criteria.extend(check_criteria());
    record.verdict = Some(Verdict::Pass);
    record.condition = Some(Condition::Fit);
    record.deviations = vec![Deviation {
        code: "sample-late".into(),
        what: "The sample was measured 26 min after it was taken".into(),
        reason: Some("the bench meter was in use".into()),
    }];
    record.measuring_loop.photos = vec![PhotoFacts {
        file: "photos/bulb.jpg".into(),
        shows: Some("film on the bulb".into()),
    }];
    record.measuring_loop.remarks =
        Some("Basin receives fat from the butter line on Tuesdays.".into());
    record
}

/// Found good and left alone.
pub(super) fn untouched() -> Record {
    let mut record = record("AIT-311", state(&LEFT, Some(Verdict::Pass)));
    record.measuring_loop.adjusted = false;
    record.limits = LimitFacts {
        name: "built-in".into(),
        built_in: true,
        requirements: "plain".into(),
        decision: "simple".into(),
        ..LimitFacts::default()
    };
    record.instruments.clear();
    record.criteria = fit_criteria(Stage::AsFound, &record.as_found.figures);
    record.verdict = Some(Verdict::Pass);
    record.condition = Some(Condition::Fit);
    record
}

/// Condemned and replaced.
pub(super) fn replaced() -> Record {
    let dead: [Point; 2] = [
        ("B7", 6.874, "-61.0", "19.6", "7.90"),
        ("B4", 4.001, "12.5", "19.8", "6.61"),
    ];
    let new: [Point; 2] = [
        ("B7", 6.874, "4.1", "19.6", "6.87"),
        ("B4", 4.001, "170.6", "19.8", "4.00"),
    ];
    let mut record = record("AIT-312", state(&dead, Some(Verdict::Fail)));
    record.remedies = vec![
        remedy(
            "cleaned with detergent and soft brush",
            None,
            None,
            &[],
            0.0,
        ),
        remedy(
            "disinfected with bleach",
            Some("0.5 % hypochlorite"),
            Some("10 min"),
            &dead,
            44.0,
        ),
        RemedyRecord {
            probe: Some(ProbeFacts {
                serial: Some("K2-90117".into()),
                ..ProbeFacts::default()
            }),
            old_probe: Some("condemned".into()),
            reason: Some("slope below 70 % after cleaning".into()),
            ..remedy("probe replaced", None, None, &new, 44.0)
        },
    ];
    record.remedies[2].slope_gained_percent = None;
    record.measuring_loop.probe_left = Some(ProbeFacts {
        make: Some("Tessaly".into()),
        model: Some("K2".into()),
        serial: Some("K2-90117".into()),
        ..ProbeFacts::default()
    });
    record.criteria = fit_criteria(Stage::AsFound, &record.as_found.figures);
    record.as_left = Some(state(&new, Some(Verdict::Pass)));
    record
        .criteria
        .extend(fit_criteria(Stage::AsLeft, &figures(&new)));
    record.verdict = Some(Verdict::Pass);
    record.condition = Some(Condition::Fit);
    record.visit.signatures.truncate(1);
    record
}

/// A redox loop, wiped and adjusted.
pub(super) fn redox() -> Record {
    let reading = |standard: &str, value: f64, shown: &str| ReadingRecord {
        standard: standard.into(),
        temperature_c: 21.8,
        temperature_typed: "21.8".into(),
        standard_mv: Some(value),
        shown_mv: Some(number(shown)),
        shown_typed: Some(shown.into()),
        shown_decimals: Some(0),
        error_mv: Some(number(shown) - value),
        after_typed: Some("90 s".into()),
        ..ReadingRecord::default()
    };
    let set = |a: &str, b: &str, verdict| StateRecord {
        verdict: Some(verdict),
        figures: Figures {
            readings: vec![reading("R1", 222.6, a), reading("R2", 86.4, b)],
            gain_percent: Some(100.0 * (number(a) - number(b)) / (222.6 - 86.4)),
            mean_temperature_c: Some(21.8),
            ..Figures::default()
        },
        ..StateRecord::default()
    };
    let mut record = record("QIT-07", set("251", "112", Verdict::Fail));
    record.quantity = Quantity::Redox;
    record.measuring_loop.range = Some(["-200".into(), "800".into()]);
    record.measuring_loop.process = ProcessFacts::default();
    record.as_left = Some(set("225", "88", Verdict::Pass));
    record.remedies = vec![RemedyRecord {
        after: Some(set("231", "93", Verdict::Pass).figures),
        ..remedy("metal polished", None, None, &[], 0.0)
    }];
    let both = |limit: f64| [Some(-limit), None, None, Some(limit)];
    record.criteria = vec![
        criterion(
            "as_found_error",
            Stage::AsFound,
            Some("R1"),
            28.4,
            "mV",
            both(20.0),
        ),
        criterion(
            "as_left_error",
            Stage::AsLeft,
            Some("R1"),
            2.4,
            "mV",
            both(10.0),
        ),
    ];
    record.standards = vec![
        standard("R1", "zobell", "Z-18"),
        standard("R2", "quinhydrone", "Q-2"),
    ];
    record.verdict = Some(Verdict::Pass);
    record
}

/// One point only, not judged.
pub(super) fn one_point() -> Record {
    let mut record = record(
        "AIT-313",
        state(&[("B7", 6.874, "-12.0", "19.6", "7.05")], None),
    );
    record.measuring_loop.adjusted = false;
    record.criteria = vec![CriterionRecord {
        value: None,
        outcome: OutcomeWord::NotJudged,
        reason: Some("one buffer gives no slope".into()),
        ..criterion(
            "slope",
            Stage::AsFound,
            None,
            0.0,
            "%",
            [Some(70.0), None, None, None],
        )
    }];
    record
}

/// As found not obtained.
pub(super) fn not_obtained() -> Record {
    let mut record = record(
        "AIT-314",
        StateRecord {
            not_obtained: Some("cleaned by the operators before the visit".into()),
            ..StateRecord::default()
        },
    );
    record.as_left = Some(checks(&LEFT));
    record.criteria = fit_criteria(Stage::AsLeft, &figures(&LEFT));
    record.verdict = Some(Verdict::Pass);
    record.visit.signatures.clear();
    record
}

/// Twelve readings and ten remedies.
pub(super) fn long() -> Record {
    let mut record = restored();
    record.tag = "AIT-310-very-long-tag".into();
    let found: Vec<Point> = WEAK.iter().cycle().take(12).copied().collect();
    record.as_found = state(&found, Some(Verdict::Fail));
    record.as_found.figures.readings[4].excluded = Some("air bubble on the bulb".into());
    record.as_found.figures.readings[5].temperature_assumed =
        Some("thermometer left in the van".into());
    let words = [
        "rinsed",
        "wiped",
        "cleaned with detergent and soft brush",
        "acid soak",
        "pepsin soak",
        "disinfected with bleach",
        "rehydrated in buffer",
        "storage solution soak",
        "electrolyte topped up",
        "other",
    ];
    record.remedies = words
        .iter()
        .enumerate()
        .map(|(i, word)| {
            let points: &[Point] = if i % 3 == 2 {
                &[]
            } else if i > 6 {
                &LEFT
            } else {
                &WEAK
            };
            remedy(
                word,
                Some("a solution whose name is far longer than any column could ever hold"),
                Some("15 min"),
                points,
                78.7,
            )
        })
        .collect();
    record
}

/// With a decimal comma.
pub(super) fn comma() -> Firm {
    Firm {
        decimal_sign: DecimalSign::Comma,
        ..firm()
    }
}

/// Every record of this room.
pub(super) fn all() -> Vec<Record> {
    vec![
        restored(),
        untouched(),
        replaced(),
        redox(),
        one_point(),
        not_obtained(),
        long(),
    ]
}
