//! Coordinates and colours as text. A hundredth of a point is enough on paper and on screen.
//!
//! Comes in: a number. Goes out: its digits without needless ones. Next: the painters, which write thousands of them.

/// A number in decimal digits, without exponent and without zeros at the end.
#[derive(Debug, Clone, Copy)]
pub struct Short {
    digits: [u8; 24],
    from: usize,
}

impl Short {
    /// A number rounded to hundredths.
    pub fn new(number: f64) -> Short {
        Short::of((number * 100.0).round() as i64, 2)
    }

    /// A number given in thousandths.
    pub fn thousandths(thousandths: u32) -> Short {
        Short::of(thousandths.into(), 3)
    }

    /// A whole number.
    pub fn whole(number: u32) -> Short {
        Short::of(number.into(), 0)
    }

    fn of(units: i64, decimals: u32) -> Short {
        let mut short = Short { digits: [0; 24], from: 24 };
        let mut left = units.unsigned_abs();
        for _ in 0..decimals {
            let digit = (left % 10) as u8;
            if digit > 0 || short.from < 24 {
                short.put(b'0' + digit);
            }
            left /= 10;
        }
        if short.from < 24 {
            short.put(b'.');
        }
        loop {
            short.put(b'0' + (left % 10) as u8);
            left /= 10;
            if left == 0 {
                break;
            }
        }
        if units < 0 {
            short.put(b'-');
        }
        short
    }

    /// Puts a byte before the others. The longest number, that of `i64::MIN` hundredths, has 21.
    fn put(&mut self, byte: u8) {
        self.from -= 1;
        self.digits[self.from] = byte;
    }

    /// The text.
    pub fn as_str(&self) -> &str {
        std::str::from_utf8(self.as_bytes()).expect("only ASCII was put")
    }

    /// The text as bytes of ASCII.
    pub fn as_bytes(&self) -> &[u8] {
        &self.digits[self.from..]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_two_decimals_at_most_and_no_exponent() {
        let given = [0.0, -0.001, -0.004, 7.0, 1.5, -12.345, 0.05, -0.05, 233.999, 841.8898, 1e9, f64::MIN];
        let texts = given.map(|number| Short::new(number).as_str().to_owned());
        let expected = ["0", "0", "0", "7", "1.5", "-12.35", "0.05", "-0.05", "234", "841.89", "1000000000"];
        assert_eq!(texts[..11], expected);
        assert_eq!(texts[11], "-92233720368547758.08");
    }

    #[test]
    fn whole_numbers_have_no_point() {
        assert_eq!([0, 70, u32::MAX].map(|number| Short::whole(number).as_str().to_owned()), ["0", "70", "4294967295"]);
    }

    #[test]
    fn thousandths_have_three() {
        let texts = [0, 1000, 200, 86, 5, 1234].map(|number| Short::thousandths(number).as_str().to_owned());
        assert_eq!(texts, ["0", "1", "0.2", "0.086", "0.005", "1.234"]);
    }
}
