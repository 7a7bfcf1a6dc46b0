//! What each ink looks like, on paper and on screen.
//!
//! Comes in: an [`Ink`] and the firm's accent. Goes out: an sRGB colour. Next: the painters.

use crate::document::Ink;

/// The least contrast of text against paper.
///
/// Source: W3C, Web Content Accessibility Guidelines (WCAG) 2.2, success criterion 1.4.3: «4.5:1».
pub const TEXT_CONTRAST: f64 = 4.5;

/// The sRGB colour of an ink. Every ink that text may have reaches [`TEXT_CONTRAST`] against paper; an accent that is
/// too light is darkened until it does.
pub fn colour(ink: Ink, accent: [u8; 3]) -> [u8; 3] {
    match ink {
        Ink::Text => [0x16, 0x20, 0x2a],
        Ink::Muted => [0x55, 0x60, 0x6b],
        Ink::Grid => [0xd3, 0xd9, 0xde],
        Ink::Accent => readable(accent),
        Ink::Paper => [0xff, 0xff, 0xff],
        Ink::Pass => [0x1b, 0x6b, 0x3a],
        Ink::Warn => [0x84, 0x56, 0x00],
        Ink::Fail => [0xa3, 0x23, 0x1c],
        Ink::PassZone => [0xdd, 0xea, 0xe3],
        Ink::WarnZone => [0xf7, 0xe8, 0xc8],
        Ink::FailZone => [0xf8, 0xe1, 0xdd],
    }
}

/// Contrast of two colours, 1 to 21.
///
/// Source: W3C, WCAG 2.2, definitions «contrast ratio» and «relative luminance».
pub fn contrast(one: [u8; 3], other: [u8; 3]) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// `accent`, darkened in steps of a twentieth until it can be read on paper.
fn readable(accent: [u8; 3]) -> [u8; 3] {
    (0..=20)
        .map(|step| accent.map(|part| (f64::from(part) * (1.0 - f64::from(step) / 20.0)).round() as u8))
        .find(|&dark| contrast(dark, [255; 3]) >= TEXT_CONTRAST)
        .unwrap_or([0; 3])
}

fn luminance(colour: [u8; 3]) -> f64 {
    let [red, green, blue] = colour.map(|part| {
        let part = f64::from(part) / 255.0;
        if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
    });
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

#[cfg(test)]
mod tests {
    use super::*;

    const ACCENT: [u8; 3] = [0x1d, 0x4a, 0x57];

    #[test]
    fn contrast_is_as_published() {
        // Source: W3C, Understanding WCAG 2.2, technique G18: black on white 21:1, #777777 on white 4.48:1 (just too little).
        assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 0.005);
        assert!((contrast([0x77; 3], [255; 3]) - 4.48).abs() < 0.005);
    }

    #[test]
    fn text_inks_can_be_read_on_paper_and_on_their_zones() {
        let paper = colour(Ink::Paper, ACCENT);
        for ink in [Ink::Text, Ink::Muted, Ink::Accent, Ink::Pass, Ink::Warn, Ink::Fail] {
            assert!(contrast(colour(ink, ACCENT), paper) >= TEXT_CONTRAST, "{ink:?}");
        }
        for (ink, zone) in [(Ink::Pass, Ink::PassZone), (Ink::Warn, Ink::WarnZone), (Ink::Fail, Ink::FailZone)] {
            assert!(contrast(colour(ink, ACCENT), colour(zone, ACCENT)) >= TEXT_CONTRAST, "{ink:?}");
            assert!(contrast(colour(Ink::Text, ACCENT), colour(zone, ACCENT)) >= 7.0, "{zone:?}");
        }
    }

    #[test]
    fn a_light_accent_is_darkened_and_a_dark_one_stays() {
        assert!(contrast(colour(Ink::Accent, [0xff, 0xd0, 0x00]), [255; 3]) >= TEXT_CONTRAST);
        assert_eq!(colour(Ink::Accent, ACCENT), ACCENT);
    }
}
