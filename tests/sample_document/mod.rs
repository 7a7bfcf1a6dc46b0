//! Documents for the painters' tests: an invented record with every kind of block, and a long one that strains them.
#![allow(dead_code, unused_imports)] // each test crate uses the part it needs

mod figures;
mod tables;
mod texts;

use halfcell::document::*;
use halfcell::firm::{Logo, LogoKind, Paper};
use tables::{cells, checks, standards, uncertainty};
pub use tables::{numbered_table, readings};
pub use texts::texts;

/// A logo of our own drawing: four bars.
pub const LOGO_SVG: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 36 28" width="36" height="28">
<g fill="#1d4a57"><path d="M0 1h36v3.4H0z"/><rect y="8.4" width="25" height="3.4"/><rect y="15.8" width="31" height="3.4" rx="0.6"/>
<path d="M0 23.2 h15 v3.4 h-15 Z" fill-opacity="0.85"/></g></svg>"##;

/// A plain document of two pages with every kind of block.
pub fn sample() -> Document {
    Document {
        title: "Calibration record".into(),
        subtitle: "pH loop AIT-310, outlet of the equalisation basin".into(),
        number: "QF-2026-0187".into(),
        language: "en".into(),
        paper: Paper::A4,
        accent: [0x1d, 0x4a, 0x57],
        brand: Brand {
            name: "Quillfen Instrument Service".into(),
            lines: vec!["2 Tannery Yard, Ostwick · lab@quillfen.example.com".into()],
            logo: Some(Logo { name: "logo.svg".into(), kind: LogoKind::Svg, bytes: LOGO_SVG.as_bytes().to_vec() }),
            fonts: Vec::new(),
        },
        running: Running {
            issued: "issued 2026-05-13".into(),
            page: "page {n} of {m}".into(),
            draft: None,
            footer_left: vec!["Results concern only the loop named. Copy in full only.".into()],
            footer_right: vec!["Visit file b41f 09c2 · not registered".into()],
        },
        parts: vec![
            Part { name: "Summary".into(), blocks: summary() },
            Part { name: "Evidence".into(), blocks: evidence() },
        ],
        issued: "2026-05-13T08:15:00+02:00".into(),
        author: "Quillfen Instrument Service".into(),
        data: r#"{"tag":"AIT-310","as_left":{"slope_percent":97.4}}"#.into(),
        attachments: vec![
            attachment("visit.yaml", "application/yaml", Relationship::Source, b"visit: {number: QV-2026-061}\n"),
            attachment(
                "limits.yaml",
                "application/yaml",
                Relationship::Supplement,
                &b"limits: {name: effluent pH}\n".repeat(99),
            ),
            attachment(
                "record.json",
                "application/json",
                Relationship::Data,
                br#"{"tag":"AIT-310","as_left":{"slope_percent":97.4}}"#,
            ),
        ],
    }
}

fn attachment(name: &str, media_type: &'static str, relationship: Relationship, bytes: &[u8]) -> Attachment {
    let description = format!("What {name} is");
    Attachment { name: name.into(), media_type, relationship, description, bytes: bytes.to_vec() }
}

/// The sample as a draft.
pub fn draft() -> Document {
    let mut document = sample();
    document.running.draft = Some("Draft · the signature «authorised» is missing".into());
    document
}

/// A long document on Letter: 12 readings, 10 remedies, names of 300 characters without and with spaces, a draft.
pub fn long() -> Document {
    let mut document = draft();
    document.paper = Paper::Letter;
    document.number = "QF-2026-0188-A1".into();
    let spaced = "Marrowby Dairies cooperative of the upper and lower valley ".repeat(6);
    let spaced: String = spaced.chars().take(300).collect();
    let unbroken: String = "Vorratsbehälterüberwachungsmessstelle".chars().cycle().take(300).collect();
    document.brand.name = spaced.trim().into();
    document.subtitle = format!("pH loop {unbroken}");
    document.parts[0].blocks[0] = columns(vec![
        (
            1,
            vec![
                heading("Client"),
                facts(&[("Name", &[spaced.trim()]), ("Site", &[unbroken.as_str()]), ("Order", &["44-1093"])]),
            ],
        ),
        (
            1,
            vec![
                heading("Loop"),
                facts(&[
                    ("Analyser", &["serial 7F-20417"]),
                    ("Probe", &["serial K2-88310,", "since 2025-02-11"]),
                    ("Αισθητήρας", &["Ταξινόμηση 4"]),
                    ("Датчик", &["серийный № 88310"]),
                ]),
            ],
        ),
        (1, vec![heading("Work"), facts(&[("Visit", &["QV-2026-061"]), ("By", &[unbroken.as_str()])])]),
    ]);
    let remedies = (1..=10)
        .map(|step| Paragraph {
            lead: Some(format!("Remedy {step}.")),
            text: "Rinsed with tap water, then 0.1 mol/L HCl for 15 min; slope 92.6\u{a0}% before, 97.4\u{a0}% after. "
                .repeat(3)
                .trim()
                .into(),
        })
        .collect();
    let at = document.parts[0].blocks.len() - 3;
    document.parts[0].blocks.insert(at, heading("What was done"));
    document.parts[0].blocks.insert(at + 1, Block::List(remedies));
    document.parts[1].blocks[1] = readings(12);
    let Block::Columns(pair) = &mut document.parts[1].blocks[2] else {
        unreachable!("the third block of the evidence is a pair of tables")
    };
    let Block::Table(standards) = &mut pair[0].blocks[1] else { unreachable!("a table follows the heading") };
    for row in 0..30 {
        standards.rows.push(cells(&[
            &format!("B{row}"),
            "a buffer whose name runs on and on",
            "P4-6620",
            "2026-04-28",
            "2027-03-31",
            "0.010",
        ]));
    }
    document.parts[1].blocks.insert(2, Block::Paragraph(paragraph(None, &format!("{} {unbroken}", spaced.trim()))));
    document
}

fn summary() -> Vec<Block> {
    vec![
        columns(vec![
            (
                1,
                vec![
                    heading("Client"),
                    facts(&[
                        ("Name", &["Marrowby Dairies"]),
                        ("Site", &["Effluent plant, Lowbridge"]),
                        ("Order", &["44-1093"]),
                    ]),
                ],
            ),
            (
                1,
                vec![
                    heading("Loop"),
                    facts(&[
                        ("Analyser", &["serial 7F-20417"]),
                        ("Probe", &["serial K2-88310,", "since 2025-02-11"]),
                        ("Range", &["pH\u{a0}2 to 12, 4–20\u{a0}mA"]),
                    ]),
                ],
            ),
            (
                1,
                vec![
                    heading("Work"),
                    facts(&[
                        ("Visit", &["QV-2026-061"]),
                        ("Date", &["2026-05-12, 09:05 to 10:40\u{a0}+02:00"]),
                        ("By", &["J. Tarn, field technician"]),
                    ]),
                ],
            ),
        ]),
        columns(vec![
            (
                1,
                vec![Block::Verdict(VerdictBlock {
                    mark: Mark::Fail,
                    title: "As found: fail".into(),
                    lines: vec![
                        "Shown pH was off by up to 0.41 (limit 0.20). Slope 78.9\u{a0}%.".into(),
                        "Last good check: 2026-02-03.".into(),
                    ],
                })],
            ),
            (
                1,
                vec![Block::Verdict(VerdictBlock {
                    mark: Mark::Pass,
                    title: "As left: pass".into(),
                    lines: vec![
                        "All 6 limits of “effluent pH, revision 3” met, simple acceptance.".into(),
                        "Returned to service.".into(),
                    ],
                })],
            ),
        ]),
        columns(vec![
            (1, vec![heading("Slope, percent of theoretical"), figures::slope_scale()]),
            (1, vec![heading("Offset at pH\u{a0}7, mV"), figures::offset_scale()]),
        ]),
        columns(vec![
            (11, vec![heading("Potential against pH"), figures::potential()]),
            (10, vec![heading("What was done, and what it gained"), figures::ladder(), heading("Checks"), checks()]),
        ]),
        Block::Caution(paragraph(
            Some("Caution."),
            "The acid soak used 0.1\u{a0}mol/L hydrochloric acid. Follow its safety data sheet and the site’s rules; gloves and eye protection. The membrane is thin glass.",
        )),
        Block::Rule,
        Block::Signatures(vec![
            signature(Some("J. Tarn"), "performed · 2026-05-12 10:52 +02:00"),
            signature(Some("M. Oseling"), "authorised · 2026-05-13 08:15 +02:00"),
            signature(None, "received for the client"),
        ]),
    ]
}

fn evidence() -> Vec<Block> {
    vec![
        heading("Readings, as written down by the technician"),
        readings(3),
        columns(vec![
            (1, vec![heading("Standards used"), standards()]),
            (1, vec![heading("Uncertainty of the as-left slope"), uncertainty()]),
        ]),
        columns(vec![
            (
                1,
                vec![
                    heading("Findings"),
                    Block::List(vec![
                        paragraph(
                            Some("Reference solution spent."),
                            "Slope rose from 79.3\u{a0}% to 92.6\u{a0}% when it was renewed; the offset moved by 11\u{a0}mV. Response was quick before and after, so the junction was not the cause.",
                        ),
                        paragraph(
                            Some("Film on the glass."),
                            "The remaining loss, 4.8\u{a0}%, went with the acid soak. Ask whether fat reaches the basin; a flat-faced probe would need less cleaning.",
                        ),
                    ]),
                ],
            ),
            (1, vec![heading("History of probe K2-88310, slope in percent"), figures::history()]),
        ]),
        columns(vec![
            (
                1,
                vec![
                    heading("Limits and decision"),
                    Block::Paragraph(paragraph(
                        None,
                        "Effluent pH, revision 3, in force since 2026-01-01. Simple acceptance: a value on the limit is inside; at the limit the risk of a wrong pass is up to 50\u{a0}%. Values were judged before rounding.",
                    )),
                ],
            ),
            (1, vec![heading("Deviations"), Block::Paragraph(paragraph(None, "None."))]),
        ]),
        heading("How it was computed"),
        Block::Paragraph(paragraph(
            None,
            "Buffer pH from the published equations at each reading’s temperature. Least squares of potential on k(T)·(7\u{a0}−\u{a0}pH), k from the exact SI constants; 25\u{a0}°C is 59.159\u{a0}mV per pH. Resistance 120\u{a0}MΩ, current 0.2\u{a0}µA. halfcell 1.0.0.",
        )),
        Block::EndMark("End of record QF-2026-0187".into()),
    ]
}

fn columns(columns: Vec<(u32, Vec<Block>)>) -> Block {
    Block::Columns(columns.into_iter().map(|(weight, blocks)| Column { weight, blocks }).collect())
}

fn heading(text: &str) -> Block {
    Block::Heading(text.into())
}

pub fn paragraph(lead: Option<&str>, text: &str) -> Paragraph {
    Paragraph { lead: lead.map(Into::into), text: text.into() }
}

fn facts(facts: &[(&str, &[&str])]) -> Block {
    Block::Facts(
        facts
            .iter()
            .map(|(label, value)| Fact {
                label: (*label).into(),
                value: value.iter().map(|line| (*line).into()).collect(),
            })
            .collect(),
    )
}

fn signature(name: Option<&str>, meaning: &str) -> SignatureBlock {
    SignatureBlock { name: name.map(Into::into), meaning: meaning.into() }
}
