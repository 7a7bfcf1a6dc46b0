//! Tables of the sample.

use super::paragraph;
use halfcell::document::*;

/// The readings of both states, `each` rows a state.
pub fn readings(each: usize) -> Block {
    let column = |head: &str, align, stretch| TableColumn { head: head.into(), align, stretch };
    let found = [
        ["B7", "19.6", "6.874", "−20.6", "7.18", "+0.31", "+0.008", "60\u{a0}s"],
        ["B4", "19.8", "4.001", "111.7", "4.31", "+0.31", "−0.004", "75\u{a0}s"],
        ["B10", "19.5", "10.066", "−166.3", "9.66", "−0.41", "−0.004", "90\u{a0}s"],
    ];
    let left = [
        ["B7", "19.6", "6.874", "−5.9", "6.88", "+0.01", "+0.005", "60\u{a0}s"],
        ["B4", "19.8", "4.001", "157.2", "4.01", "+0.01", "−0.002", "75\u{a0}s"],
        ["B10", "19.5", "10.066", "−186", "—", "—", "−0.002", "90\u{a0}s"],
    ];
    let mut rows = vec![Row::Group(paragraph(
        Some("As found,"),
        "slope 78.9\u{a0}±\u{a0}1.1\u{a0}%, offset −26.0\u{a0}±\u{a0}1.3\u{a0}mV, zero point pH\u{a0}6.43",
    ))];
    rows.extend((0..each).map(|at| cells(&found[at % 3])));
    rows.push(Row::Group(paragraph(
        Some("As left,"),
        "slope 97.4\u{a0}±\u{a0}1.1\u{a0}%, offset −12.8\u{a0}±\u{a0}1.3\u{a0}mV, zero point pH\u{a0}6.77",
    )));
    rows.extend((0..each).map(|at| cells(&left[at % 3])));
    Block::Table(Table {
        caption: "Readings".into(),
        columns: vec![
            column("In", Align::Left, 1),
            column("°C", Align::Decimal, 1),
            column("Buffer pH", Align::Decimal, 1),
            column("mV", Align::Decimal, 1),
            column("Shown pH", Align::Decimal, 1),
            column("Error", Align::Decimal, 1),
            column("Residual", Align::Decimal, 1),
            column("After", Align::Right, 1),
        ],
        rows,
    })
}

pub fn checks() -> Block {
    let row = |what: &str, measured: &str, limit: &str, mark, word: &str| {
        let cell = |text: &str, mark| Cell { text: text.into(), mark };
        Row::Cells(vec![cell(what, None), cell(measured, None), cell(limit, None), cell(word, Some(mark))])
    };
    Block::Table(Table {
        caption: "Checks".into(),
        columns: vec![
            table_column("Check", Align::Left, 1),
            table_column("Measured", Align::Decimal, 0),
            table_column("Limit", Align::Decimal, 0),
            table_column("Outcome", Align::Left, 0),
        ],
        rows: vec![
            row("Check standard pH\u{a0}9.22", "+0.03", "±0.10", Mark::Pass, "pass"),
            row("Temperature, °C", "+0.9", "±1.0", Mark::Warn, "warned"),
            row(
                "Output at pH\u{a0}7.00, mA",
                "12.02",
                "12.00\u{a0}±\u{a0}0.08",
                Mark::ConditionalPass,
                "pass, conditional",
            ),
            row("Grab sample, pH", "−0.26", "±0.20", Mark::Fail, "fail"),
            row("Second grab sample, pH", "−0.21", "±0.20", Mark::ConditionalFail, "fail, conditional"),
            row("Redox standard, mV", "—", "—", Mark::NotJudged, "not judged"),
        ],
    })
}

pub fn standards() -> Block {
    Block::Table(Table {
        caption: "Standards used".into(),
        columns: vec![
            table_column("", Align::Left, 0),
            table_column("Buffer", Align::Left, 1),
            table_column("Lot", Align::Left, 0),
            table_column("Opened", Align::Left, 0),
            table_column("Expires", Align::Left, 0),
            table_column("U (k=2)", Align::Decimal, 0),
        ],
        rows: vec![
            cells(&["B4", "phthalate", "P4-6620", "2026-04-28", "2027-03-31", "0.010"]),
            cells(&["B7", "phosphate", "P7-6618", "2026-04-28", "2027-03-31", "0.010"]),
            cells(&["B10", "carbonate", "C10-231", "2026-05-11", "2026-08-31", "0.015"]),
            cells(&["B9", "borax (check)", "X9-118", "2026-05-11", "2026-12-31", "0.010"]),
        ],
    })
}

pub fn uncertainty() -> Block {
    Block::Table(Table {
        caption: "Uncertainty".into(),
        columns: vec![
            table_column("Source", Align::Left, 2),
            table_column("u", Align::Decimal, 1),
            table_column("Sensitivity", Align::Decimal, 1),
            table_column("Share", Align::Right, 0),
        ],
        rows: vec![
            cells(&["Buffer B4, pH", "0.0050", "−16.2\u{a0}%", "24\u{a0}%"]),
            cells(&["Buffer B10, pH", "0.0075", "+16.0\u{a0}%", "51\u{a0}%"]),
            cells(&["Readings, mV", "0.18", "0.39\u{a0}%", "17\u{a0}%"]),
            cells(&["Thermometer, °C", "0.10", "−0.33\u{a0}%", "8\u{a0}%"]),
        ],
    })
}

fn table_column(head: &str, align: Align, stretch: u32) -> TableColumn {
    TableColumn { head: head.into(), align, stretch }
}

pub fn cells(texts: &[&str]) -> Row {
    Row::Cells(texts.iter().map(|text| Cell { text: (*text).into(), mark: None }).collect())
}

/// A generated table of `rows` rows for the break rules.
pub fn numbered_table(rows: usize) -> Block {
    Block::Table(Table {
        caption: "Numbered rows".into(),
        columns: vec![table_column("Row", Align::Left, 1), table_column("Value", Align::Decimal, 1)],
        rows: (1..=rows).map(|row| cells(&[&format!("row-{row}"), &format!("{}.5", row * 3)])).collect(),
    })
}
