//! The table on a bottle: rows of temperature and value.

use crate::problem::{Fact, Problem};
use crate::quantity::{Celsius, Measured, Unit};
use crate::yaml::At;

/// What the values of a table can be.
pub(super) struct Column {
    /// Lowest and highest value.
    pub within: [f64; 2],
    /// Largest change per °C.
    pub steepest_per_c: f64,
}

/// pH of a buffer.
///
/// Source: common practice, no source: aqueous buffers lie between pH 0 and 14; the published buffer that changes most is
/// calcium hydroxide with 0.034 per °C at 25 °C.
pub(super) const PH: Column = Column { within: [0.0, 14.0], steepest_per_c: 0.05 };

/// Potential of a redox solution, mV.
///
/// Source: common practice, no source: water is stable within about −1000 mV and 1500 mV; ZoBell's solution changes by
/// 2.2 mV per °C.
pub(super) const POTENTIAL: Column = Column { within: [-1000.0, 1500.0], steepest_per_c: 10.0 };

/// One row as typed.
struct Row<V: Unit> {
    temperature: Measured<Celsius>,
    value: Measured<V>,
}

/// Reads rows `[°C, value]`, at least two, rising in temperature.
pub(super) fn rows<V: Unit>(at: &At<'_>, column: &Column) -> Option<Vec<[f64; 2]>> {
    let listed = at.list(&format!("rows [temperature in °C, {}]", V::SYMBOL))?;
    if listed.iter().any(At::is_text) {
        at.tell(Problem::error(
            "table-row",
            &at.place(),
            "found rows without brackets of their own",
            format!("each row has two values, the temperature in °C and the {} at it", name::<V>()),
            "write each row in brackets, like [[20, 7.02], [25, 7.00]]",
        ));
        return None;
    }
    let rows: Vec<Option<Row<V>>> = listed.iter().map(row).collect();
    let rows: Vec<Row<V>> = rows.into_iter().collect::<Option<_>>()?;
    if rows.len() < 2 {
        at.tell(Problem::error(
            "table-too-short",
            &at.place(),
            format!("found {} row(s)", rows.len()),
            "between the rows the value is taken from a straight line, which needs two of them",
            "write at least two rows of the bottle's table, like [[20, 7.02], [25, 7.00]]",
        ));
        return None;
    }
    let fits = rows.iter().filter(|row| !fits(at, row, column)).count() == 0;
    if !fits {
        return None;
    }
    let rises = rows.windows(2).filter(|pair| !rises(at, &pair[0], &pair[1], column)).count() == 0;
    let plain = |row: &Row<V>| [row.temperature.value, row.value.value];
    rises.then(|| rows.iter().map(plain).collect())
}

fn row<V: Unit>(at: &At<'_>) -> Option<Row<V>> {
    let cells = at.list(&format!("two numbers [temperature in °C, {}]", V::SYMBOL))?;
    if let [temperature, value] = cells.as_slice() {
        let (temperature, value) = (temperature.number(), value.number());
        return Some(Row { temperature: temperature?, value: value? });
    }
    let typed: Vec<&str> = cells.iter().filter_map(|cell| cell.raw()).collect();
    let what = format!("found {} values: [{}]", cells.len(), typed.join(", "));
    let why = format!("a row has two values, the temperature in °C and the {} at it", name::<V>());
    let problem = match (cells.len() == typed.len(), typed.as_slice()) {
        (true, [whole, tenths, rest @ ..]) if (1..=2).contains(&rest.len()) => {
            let meant = match rest {
                [a, b] => format!("[{whole}.{tenths}, {a}.{b}]"),
                _ => format!("[{whole}, {tenths}.{}]", rest.concat()),
            };
            let why = format!("{why}; commas divide the values, so a decimal comma cuts one in two");
            Problem::error("decimal-comma", &at.place(), what, why, format!("use a point as decimal sign: {meant}"))
        }
        _ => Problem::error("table-row", &at.place(), what, why, "write each row as [20, 7.02]"),
    };
    at.tell(problem);
    None
}

/// What the second column holds, in words.
fn name<V: Unit>() -> &'static str {
    if V::SYMBOL == "pH" { "pH" } else { "potential in mV" }
}

fn fits<V: Unit>(at: &At<'_>, row: &Row<V>, column: &Column) -> bool {
    let [low, high] = column.within;
    let inside = (low..=high).contains(&row.value.value);
    if !inside {
        at.tell(Problem::error(
            "table-value-out-of-range",
            &row.value.place,
            format!("found `{}` at `{}`", row.value.text, row.temperature.text),
            format!("a {} lies between {low} and {high}", name::<V>()),
            "write the row as [temperature, value]; is a decimal point missing, or are the two exchanged?",
        ));
    }
    inside
}

/// Whether the temperature rises from one row to the next; a value that jumps on the way is a warning.
fn rises<V: Unit>(at: &At<'_>, before: &Row<V>, row: &Row<V>, column: &Column) -> bool {
    let step_c = row.temperature.value - before.temperature.value;
    if step_c <= 0.0 {
        at.tell(Problem::error(
            "table-not-rising",
            &row.temperature.place,
            format!("found `{}` after `{}`", row.temperature.text, before.temperature.text),
            "the rows of a table stand in order of temperature, each temperature once",
            "put the rows in rising order; is a digit wrong?",
        ));
        return false;
    }
    if (row.value.value - before.value.value).abs() > column.steepest_per_c * step_c {
        at.tell(
            Problem::warning(
                "table-jump",
                &row.value.place,
                format!(
                    "found `{}` at `{}` after `{}` at `{}`",
                    row.value.text, row.temperature.text, before.value.text, before.temperature.text
                ),
                format!("no known standard changes by more than {} {} per °C", column.steepest_per_c, V::SYMBOL),
                "compare the row with the bottle; is a digit wrong?",
            )
            .about([
                ("value", Fact::typed(&row.value.text)),
                ("temperature", Fact::typed(&row.temperature.text)),
                ("value_before", Fact::typed(&before.value.text)),
                ("temperature_before", Fact::typed(&before.temperature.text)),
            ]),
        );
    }
    true
}

#[cfg(test)]
mod tests {
    use crate::kit::tests::{Told, of_standard, refused, warned};

    /// The table of a bottle's buffer begins in column 31.
    fn of_table(table: &str) -> Vec<Told> {
        of_standard(&format!("{{buffer: {{name: X, table: {table}}}}}"))
    }

    #[test]
    fn one_row_is_no_table() {
        let fix = "write at least two rows of the bottle's table, like [[20, 7.02], [25, 7.00]]";
        assert_eq!(of_table("[[20, 7.02]]"), refused("table-too-short", 27, fix));
        assert_eq!(of_table("[]")[0].1, "table-too-short");
    }

    #[test]
    fn temperatures_rise() {
        let fix = "put the rows in rising order; is a digit wrong?";
        assert_eq!(of_table("[[20, 7.02], [15, 7.04]]"), refused("table-not-rising", 41, fix));
        assert_eq!(of_table("[[20, 7.02], [20, 7.02]]"), refused("table-not-rising", 41, fix));
    }

    #[test]
    fn values_are_ph_between_0_and_14() {
        let fix = "write the row as [temperature, value]; is a decimal point missing, or are the two exchanged?";
        assert_eq!(of_table("[[20, 702], [25, 7.00]]")[0], refused("table-value-out-of-range", 33, fix)[0]);
        assert_eq!(of_table("[[7.02, 20], [7.03, 21]]")[0].1, "table-value-out-of-range");
    }

    #[test]
    fn a_decimal_comma_cuts_a_row() {
        let fix = "use a point as decimal sign: [20, 7.02]";
        assert_eq!(of_table("[[20, 7,02], [25, 7.00]]"), refused("decimal-comma", 28, fix));
        let fix = "use a point as decimal sign: [20.5, 7.02]";
        assert_eq!(of_table("[[20,5, 7,02], [25, 7.00]]"), refused("decimal-comma", 28, fix));
        assert_eq!(of_table("[[20], [25, 7.00]]"), refused("table-row", 28, "write each row as [20, 7.02]"));
    }

    #[test]
    fn a_jump_between_rows_is_a_warning() {
        let fix = "compare the row with the bottle; is a digit wrong?";
        assert_eq!(of_table("[[20, 7.02], [25, 8.00]]"), warned("table-jump", 45, fix));
        assert_eq!(of_table("[[20, 12.63], [25, 12.45]]"), []);
    }

    #[test]
    fn rows_are_lists() {
        let told = of_table("[20, 7.02]");
        assert_eq!(told.len(), 1);
        assert_eq!(told[0].1, "table-row");
        assert_eq!(told[0].4, "write each row in brackets, like [[20, 7.02], [25, 7.00]]");
    }
}
