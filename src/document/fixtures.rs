//! Records as `record` would hand them over, for the tests of this room. Figures by the formulas of the fit, written out.

mod loops;

pub(super) use loops::*;

use crate::firm::{DecimalSign, Firm, Paper, Role};
use crate::problem::Place;
use crate::record::*;
use crate::yaml::Text;

/// One reading: standard, buffer pH, mV, °C, shown.
pub(super) type Point = (&'static str, f64, &'static str, &'static str, &'static str);

fn text(text: &str) -> Text {
    Text { text: text.into(), place: Place { file: "firm.yaml".into(), line: 1, column: 1, path: String::new() } }
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
        decimal_sign: Some(DecimalSign::Point),
        numbering: "{visit}-{loop}".into(),
        footer: None,
        accreditation: None,
        limits: None,
        procedure: None,
        people: vec![],
        signatures: vec![Role::Performed, Role::Authorised],
        attachments: true,
        fonts: vec![],
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
    let x: Vec<f64> = points.iter().map(|p| nernst(number(p.3)) * (7.0 - p.1)).collect();
    let e: Vec<f64> = points.iter().map(|p| number(p.2)).collect();
    let (mx, me) = (x.iter().sum::<f64>() / n, e.iter().sum::<f64>() / n);
    let sxx: f64 = x.iter().map(|v| (v - mx).powi(2)).sum();
    let sxe: f64 = x.iter().zip(&e).map(|(v, w)| (v - mx) * (w - me)).sum();
    let see: f64 = e.iter().map(|w| (w - me).powi(2)).sum();
    let fitted = sxx > 1e-3;
    let slope = sxe / sxx;
    let offset = me - slope * mx;
    let mean = points.iter().map(|p| number(p.3)).sum::<f64>() / n;
    let residual = |i: usize| (e[i] - offset - slope * x[i]) / (-slope * nernst(number(points[i].3)));
    let ss: f64 = (0..points.len()).map(|i| (e[i] - offset - slope * x[i]).powi(2)).sum();
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
        uncertainty: None,
        budget: vec![],
    }
}

fn state(points: &[Point], verdict: Option<Verdict>) -> StateRecord {
    StateRecord { verdict, figures: figures(points), ..StateRecord::default() }
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
        limit: LimitRecord { warn_low, warn_high, fail_low, fail_high, decimals },
        expanded_uncertainty: None,
        probability_of_conformity: None,
        guard_bands_meet: false,
        outcome,
        reason: None,
    }
}

fn fit_criteria(stage: Stage, figures: &Figures) -> Vec<CriterionRecord> {
    let error = |name, limit: f64| {
        let worst = figures.readings.iter().filter_map(|r| Some((r.error_ph?, r.standard.clone())));
        let worst = worst.max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
        worst.map(|(e, of)| criterion(name, stage, Some(&of), e, "", [Some(-limit), None, None, Some(limit)]))
    };
    let slope = figures
        .slope_percent
        .map(|v| criterion("slope", stage, None, v, "%", [Some(70.0), Some(80.0), None, Some(105.0)]));
    let offset = figures
        .offset_mv
        .map(|v| criterion("offset", stage, None, v, "mV", [Some(-50.0), Some(-30.0), Some(30.0), Some(50.0)]));
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
        technicians: vec![PersonFacts { name: "J. Tarnow".into(), qualification: Some("field technician".into()) }],
        procedure: Some(ProcedureFacts { name: "QP-07".into(), revision: Some("1.10".into()) }),
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
        language: None,
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
            reproducibility: ReproducibilityFacts { u_mv: 0.5, dof: 4.0, assumed: true },
        },
        program: "halfcell 0.2.0".into(),
        sources: sources
            .iter()
            .map(|name| SourceFacts { name: (*name).into(), sha256: "b41f09c255d17a0e".repeat(4) })
            .collect(),
        certificate: CertificateFacts {
            number: Some(format!("QV-2026-061-{tag}")),
            kind: "original".into(),
            issued: Some("2026-05-13T08:15+02:00".into()),
            ..CertificateFacts::default()
        },
        keep: Some(KeepFacts { until: "2029-05-12".into(), rule: "permit".into(), span: "3 years".into() }),
        verdict: None,
        as_found,
        as_left: None,
        remedies: vec![],
        condition: None,
        criteria: vec![],
        slips: vec![],
        findings: vec![],
        deviations: vec![],
        history: vec![],
        trend: None,
    }
}
