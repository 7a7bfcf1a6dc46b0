//! What the words and figures on a bottle's label may mean.
//!
//! Comes in: what a person typed instead of a buffer's name. Goes out: the buffers to suggest. Next: the check of
//! standards, whose message names them.

use super::Buffer;

/// Figures and words on labels that mean a buffer; the figures are pH at 20 °C or 25 °C. A label `9.00` is a technical
/// buffer of another composition than borax and so absent.
///
/// Source: common practice, no source.
const LABELS: [(Buffer, &[f64], &[&str]); 10] = [
    (Buffer::Tetroxalate, &[1.68, 1.679, 1.67, 1.675], &["oxalate"]),
    (Buffer::Tartrate, &[3.56, 3.557, 3.55], &["tartrate", "tartar"]),
    (Buffer::Citrate, &[3.78, 3.776, 3.79, 3.788], &["citrate"]),
    (Buffer::Phthalate, &[4.0, 4.005, 4.01, 4.008, 4.001], &["phthalate", "khp"]),
    (Buffer::Phosphate, &[7.0, 6.86, 6.865, 6.87, 6.88, 6.881, 6.9], &["phosphate", "equimolal"]),
    (Buffer::Phosphate1To3_5, &[7.41, 7.413, 7.4, 7.43], &["1:3.5", "1:3,5", "1 to 3.5", "physiological"]),
    (Buffer::Borax, &[9.18, 9.2, 9.22, 9.225, 9.23], &["borax", "borate"]),
    (Buffer::Carbonate, &[10.0, 10.01, 10.012, 10.06, 10.062], &["carbonate"]),
    (Buffer::CalciumHydroxide, &[12.45, 12.454, 12.46, 12.63, 12.627], &["calcium", "lime", "ca(oh)2", "caoh2"]),
    (Buffer::Technical7, &[7.0, 7.01, 7.016, 7.02], &["technical"]),
];

impl Buffer {
    /// The buffers that a label's figure or a chemical name may mean (`4.01`, `pH 7`, `potassium hydrogen phthalate`):
    /// to be suggested, never taken. Empty when nothing fits, as for technical buffers that need their bottle's table.
    pub fn suggested(typed: &str) -> Vec<Buffer> {
        let typed = typed.trim().to_lowercase();
        if let Some(exact) = Buffer::from_name(&typed) {
            return vec![exact];
        }
        let figure = label_figure(&typed);
        let meant = |figures: &[f64], words: &[&str]| {
            words.iter().any(|word| typed.contains(word)) || figure.is_some_and(|f| figures.contains(&f))
        };
        LABELS.iter().filter(|(_, figures, words)| meant(figures, words)).map(|(buffer, ..)| *buffer).collect()
    }
}

/// The pH on a label such as `pH 4.01`, `buffer 4,01` or `7`: the only number in the text.
fn label_figure(typed: &str) -> Option<f64> {
    let mut numbers = typed
        .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
        .filter_map(|number| number.replace(',', ".").parse::<f64>().ok());
    match (numbers.next(), numbers.next()) {
        (Some(figure), None) => Some(figure),
        (Some(_), Some(_)) | (None, _) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_buffer_has_one_row_of_labels() {
        for buffer in Buffer::ALL {
            assert_eq!(LABELS.iter().filter(|(b, _, _)| *b == buffer).count(), 1);
        }
    }

    #[test]
    fn labels_are_suggested_not_taken() {
        let meant = |typed: &str| Buffer::suggested(typed).iter().map(|b| b.name()).collect::<Vec<_>>().join(", ");
        for typed in ["4.01", "pH 4", "4,00", "buffer 4.01", "KHP", "Phthalate", "potassium hydrogen phthalate 0.05 M"]
        {
            assert_eq!(meant(typed), "phthalate", "{typed}");
            assert_eq!(Buffer::from_name(typed), None);
        }
        assert_eq!(meant("7"), "phosphate, technical 7.00");
        assert_eq!(meant("pH 7.00"), "phosphate, technical 7.00");
        assert_eq!(meant("6.86"), "phosphate");
        assert_eq!(meant("technical"), "technical 7.00");
        assert_eq!(meant("phosphate 1 to 3.5"), "phosphate, phosphate 1:3.5");
        assert_eq!(meant("Phosphate 7.00"), "phosphate, technical 7.00");
        assert_eq!(meant("7.41"), "phosphate 1:3.5");
        assert_eq!(meant("9.18"), "borax");
        assert_eq!(meant("10.01"), "carbonate");
        assert_eq!(meant("lime water"), "calcium hydroxide");
        for typed in ["9.00", "2", "", "water", "4.01 and 7.00"] {
            assert_eq!(meant(typed), "", "{typed}");
        }
    }
}
