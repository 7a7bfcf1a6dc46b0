//! Lines of a table that a spreadsheet opens.
//!
//! Comes in: cells. Goes out: a line that every reader divides as it was meant, and that no spreadsheet takes for a formula.

/// A line of cells.
///
/// Source: IETF, RFC 4180 (2005), section 2: cells divided by commas, in quotes where they hold a comma, a quote or a line end,
/// lines ended by CR LF.
pub fn row(cells: &[String]) -> String {
    let cells: Vec<String> = cells.iter().map(|cell| quoted(&harmless(cell))).collect();
    cells.join(",") + "\r\n"
}

/// A cell that begins as a formula does gets an apostrophe before it; a plain number stays one.
///
/// Source: OWASP, «CSV Injection»: cells that begin with `=`, `+`, `-`, `@`, tab or carriage return are run by spreadsheets.
fn harmless(cell: &str) -> String {
    let is_number = cell.parse::<f64>().is_ok_and(f64::is_finite);
    match cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && !is_number {
        true => format!("'{cell}"),
        false => cell.to_owned(),
    }
}

fn quoted(cell: &str) -> String {
    match cell.contains([',', '"', '\n', '\r']) {
        true => format!("\"{}\"", cell.replace('"', "\"\"")),
        false => cell.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::row;

    fn of(cells: &[&str]) -> String {
        row(&cells.iter().map(|cell| (*cell).to_owned()).collect::<Vec<_>>())
    }

    #[test]
    fn cells_are_divided_as_they_were_meant() {
        assert_eq!(
            of(&["a", "b, c", "say \"no\"", "two\nlines", ""]),
            "a,\"b, c\",\"say \"\"no\"\"\",\"two\nlines\",\r\n"
        );
    }

    #[test]
    fn nothing_is_taken_for_a_formula_and_numbers_stay_numbers() {
        assert_eq!(of(&["=1+1", "+A1", "-x", "@SUM(A1)", "\tx"]), "'=1+1,'+A1,'-x,'@SUM(A1),'\tx\r\n");
        assert_eq!(of(&["\r=1"]), "\"'\r=1\"\r\n");
        assert_eq!(of(&["-0.18", "+3", "-1e-7", "-", "-inf"]), "-0.18,+3,-1e-7,'-,'-inf\r\n");
    }
}
