//! Published values: what a buffer, a redox solution, a reference electrode or a platinum element is at a temperature.
//!
//! Comes in: a name of the trade and a temperature in °C. Goes out: a plain number (pH, mV, Ω), or the range in which
//! the source holds when the temperature lies outside it; nothing is extrapolated. Next: the checks of the kit file,
//! [`crate::engine`] and [`crate::record`].
//!
//! - [`slope_mv_per_ph`]: the theoretical slope of a glass electrode,
//! - [`buffers`]: pH of buffers by temperature,
//! - [`electrodes`]: reference electrodes against hydrogen,
//! - [`redox`]: redox solutions,
//! - [`platinum`]: Pt100 and Pt1000.

pub mod buffers;
pub mod electrodes;
pub mod platinum;
pub mod redox;

/// Molar gas constant in J mol⁻¹ K⁻¹.
///
/// Source: BIPM, The International System of Units, 9th edition 2019 (R = N_A·k, exact); printed 8.314 462 618 153 24.
pub const MOLAR_GAS_CONSTANT: f64 = 8.314_462_618_153_24;

/// Faraday constant in C mol⁻¹.
///
/// Source: BIPM, The International System of Units, 9th edition 2019 (F = N_A·e, exact); printed 96 485.332 123 310 02.
pub const FARADAY_CONSTANT: f64 = 96_485.332_123_310_02;

/// 0 °C in K.
///
/// Source: BIPM, The International System of Units, 9th edition 2019, section 2.3.1, unit of temperature; exact.
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// Temperatures that differ by less than this (°C) are the same one: it absorbs the conversion from °F or K.
///
/// Source: our own choice, far below any thermometer.
const SAME_TEMPERATURE_C: f64 = 1e-9;

/// Theoretical (Nernst) slope of a pH electrode in mV per pH at a temperature in °C: ln 10 · R · T / F, positive.
///
/// Source: W. Nernst's equation with the exact constants of the SI ([`MOLAR_GAS_CONSTANT`], [`FARADAY_CONSTANT`]).
///
/// ```
/// let at_25 = halfcell::reference::slope_mv_per_ph(25.0);
/// assert!((at_25 - 59.159).abs() < 0.0005);
/// ```
pub fn slope_mv_per_ph(temperature_c: f64) -> f64 {
    let kelvin = temperature_c + ZERO_CELSIUS_K;
    1000.0 * std::f64::consts::LN_10 * MOLAR_GAS_CONSTANT * kelvin / FARADAY_CONSTANT
}

/// Temperatures in °C for which a published value holds, both ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Lowest temperature, °C.
    pub from_c: f64,
    /// Highest temperature, °C.
    pub to_c: f64,
}

impl Range {
    /// Whether the temperature (°C) lies in the range or on an end.
    pub fn contains(self, temperature_c: f64) -> bool {
        self.from_c - SAME_TEMPERATURE_C <= temperature_c && temperature_c <= self.to_c + SAME_TEMPERATURE_C
    }

    /// Gives the temperature (°C) back when it lies in the range.
    ///
    /// # Errors
    /// [`OutOfRange`] otherwise, also for a temperature that is not a number.
    pub fn admit(self, temperature_c: f64) -> Result<f64, OutOfRange> {
        if self.contains(temperature_c) { Ok(temperature_c) } else { Err(OutOfRange { temperature_c, range: self }) }
    }

    /// The temperatures in both ranges; an empty range (which contains nothing) when they do not meet.
    pub fn overlap(self, other: Range) -> Range {
        Range { from_c: self.from_c.max(other.from_c), to_c: self.to_c.min(other.to_c) }
    }
}

/// A temperature for which the source gives no value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfRange {
    /// The temperature asked for, °C.
    pub temperature_c: f64,
    /// Where the source holds.
    pub range: Range,
}

/// Values by temperature as printed on a bottle or in a standard: straight lines between the rows.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// `[°C, value]`, at least two, ascending.
    rows: Vec<[f64; 2]>,
}

/// Why rows do not make a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TableError {
    /// Fewer than two rows: a temperature between rows cannot be told.
    TooFewRows {
        /// How many there are.
        rows: usize,
    },
    /// A number that is not finite, in this row (from 0, as given).
    NotFinite {
        /// Index as given.
        row: usize,
    },
    /// This row (from 0, as given) repeats the temperature of another.
    SameTemperature {
        /// Index as given.
        row: usize,
        /// The temperature, °C.
        temperature_c: f64,
    },
}

impl Table {
    /// Makes a table of rows `[°C, value]`, given in any order.
    ///
    /// # Errors
    /// [`TableError`]: the first thing that is wrong with the rows.
    pub fn new(rows: &[[f64; 2]]) -> Result<Table, TableError> {
        if let Some(row) = rows.iter().position(|r| !r[0].is_finite() || !r[1].is_finite()) {
            return Err(TableError::NotFinite { row });
        }
        if rows.len() < 2 {
            return Err(TableError::TooFewRows { rows: rows.len() });
        }
        let repeats = |row: usize| rows[..row].iter().any(|r| (r[0] - rows[row][0]).abs() < SAME_TEMPERATURE_C);
        if let Some(row) = (1..rows.len()).find(|&row| repeats(row)) {
            return Err(TableError::SameTemperature { row, temperature_c: rows[row][0] });
        }
        let mut rows = rows.to_vec();
        rows.sort_by(|a, b| a[0].total_cmp(&b[0]));
        Ok(Table { rows })
    }

    /// The rows `[°C, value]`, ascending in temperature.
    pub fn rows(&self) -> &[[f64; 2]] {
        &self.rows
    }

    /// From the first to the last row.
    pub fn range(&self) -> Range {
        rows_range(&self.rows)
    }

    /// The value at a temperature (°C), on a straight line between the rows.
    ///
    /// # Errors
    /// [`OutOfRange`] below the first or above the last row.
    pub fn value(&self, temperature_c: f64) -> Result<f64, OutOfRange> {
        between_rows(&self.rows, temperature_c)
    }

    /// Change of the value per °C: at a row the mean of both sides, at an end row the inner side.
    ///
    /// # Errors
    /// [`OutOfRange`] below the first or above the last row.
    pub fn per_degree(&self, temperature_c: f64) -> Result<f64, OutOfRange> {
        rows_per_degree(&self.rows, temperature_c)
    }
}

/// From the first to the last of at least two ascending rows.
fn rows_range(rows: &[[f64; 2]]) -> Range {
    Range { from_c: rows[0][0], to_c: rows[rows.len() - 1][0] }
}

/// [`Table::value`] of ascending rows.
fn between_rows(rows: &[[f64; 2]], temperature_c: f64) -> Result<f64, OutOfRange> {
    let t = rows_range(rows).admit(temperature_c)?;
    let above = rows.partition_point(|r| r[0] < t).clamp(1, rows.len() - 1);
    let ([t0, v0], [t1, v1]) = (rows[above - 1], rows[above]);
    Ok(v0 + (v1 - v0) * (t - t0) / (t1 - t0))
}

/// [`Table::per_degree`] of ascending rows.
fn rows_per_degree(rows: &[[f64; 2]], temperature_c: f64) -> Result<f64, OutOfRange> {
    let t = rows_range(rows).admit(temperature_c)?;
    let steepness = |i: usize| (rows[i + 1][1] - rows[i][1]) / (rows[i + 1][0] - rows[i][0]);
    let last = rows.len() - 1;
    match rows.iter().position(|r| (r[0] - t).abs() < SAME_TEMPERATURE_C) {
        Some(0) => Ok(steepness(0)),
        Some(row) if row == last => Ok(steepness(last - 1)),
        Some(row) => Ok((steepness(row - 1) + steepness(row)) / 2.0),
        None => Ok(steepness(rows.partition_point(|r| r[0] < t) - 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slope_at_25_degrees_is_59_159() {
        assert!((slope_mv_per_ph(25.0) - 59.159_349_684_782_33).abs() < 1e-12);
    }

    #[test]
    fn a_table_is_straight_between_rows_and_ends_at_them() {
        let table = Table::new(&[[30.0, 6.99], [20.0, 7.02], [25.0, 7.00]]).unwrap();
        assert_eq!(table.range(), Range { from_c: 20.0, to_c: 30.0 });
        assert!((table.value(22.5).unwrap() - 7.01).abs() < 1e-12);
        assert!((table.value(20.0).unwrap() - 7.02).abs() < 1e-12);
        assert!((table.value(30.0).unwrap() - 6.99).abs() < 1e-12);
        assert_eq!(table.value(30.1), Err(OutOfRange { temperature_c: 30.1, range: table.range() }));
        assert!(table.value(f64::NAN).is_err());
    }

    #[test]
    fn steepness_at_a_row_is_the_mean_of_both_sides() {
        let table = Table::new(&[[20.0, 7.02], [25.0, 7.00], [30.0, 6.99]]).unwrap();
        let near = |t: f64, expected: f64| assert!((table.per_degree(t).unwrap() - expected).abs() < 1e-12, "{t}");
        near(20.0, -0.004);
        near(22.0, -0.004);
        near(25.0, -0.003);
        near(29.0, -0.002);
        near(30.0, -0.002);
        assert!(table.per_degree(19.9).is_err());
    }

    #[test]
    fn rows_that_are_no_table_are_named() {
        assert_eq!(Table::new(&[[25.0, 7.0]]), Err(TableError::TooFewRows { rows: 1 }));
        assert_eq!(Table::new(&[[25.0, 7.0], [20.0, f64::NAN]]), Err(TableError::NotFinite { row: 1 }));
        let twice = Table::new(&[[25.0, 7.0], [20.0, 7.02], [25.0, 7.01]]);
        assert_eq!(twice, Err(TableError::SameTemperature { row: 2, temperature_c: 25.0 }));
    }

    #[test]
    fn an_end_survives_conversion_from_fahrenheit() {
        let range = Range { from_c: 0.0, to_c: 30.0 };
        assert!(range.contains((86.0 - 32.0) * (5.0 / 9.0)));
        assert!(!range.contains(30.001));
    }
}
