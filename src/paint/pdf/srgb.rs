//! The colour profile that tells what the colours of a document are: sRGB.
//!
//! Comes in: nothing. Goes out: an ICC profile made of published numbers. Next: [`super::finish`], which names it as the
//! output intent. Made here because the profiles in common use are under licences or take 3 KB.

use std::sync::LazyLock;

/// Name of the colour space for who looks at the output intent.
///
/// Source: IEC 61966-2-1:1999, title of the standard.
pub const NAME: &str = "sRGB IEC61966-2.1";

/// Colours of the three phosphors, adapted to D50, as X, Y, Z.
///
/// Source: ICC, profile sRGB2014, tags rXYZ, gXYZ, bXYZ (from memory); they add up to D50 within 0.0001.
const PRIMARIES: [(&[u8; 4], [f64; 3]); 3] = [
    (b"rXYZ", [0.436_07, 0.222_49, 0.013_92]),
    (b"gXYZ", [0.385_15, 0.716_87, 0.097_08]),
    (b"bXYZ", [0.143_07, 0.060_61, 0.714_10]),
];

/// White of the profile connection space, D50, as X, Y, Z.
///
/// Source: ICC.1:2010, 7.2.16 (PCS illuminant).
const D50: [f64; 3] = [0.9642, 1.0, 0.8249];

/// Bradford adaptation from D65 to D50, row by row.
///
/// Source: ICC.1:2010, annex E (linear Bradford) for the whites of IEC 61966-2-1 and the PCS (from memory).
const ADAPTATION: [f64; 9] =
    [1.047_88, 0.022_92, -0.050_22, 0.029_59, 0.990_48, -0.017_07, -0.009_25, 0.015_08, 0.751_68];

/// Transfer curve: ((x + 0.055)/1.055)^2.4 from 0.04045 on, x/12.92 below; as g, a, b, c, d of a parametric curve of type 3.
///
/// Source: IEC 61966-2-1:1999, 5.2; ICC.1:2010, 10.16 (parametricCurveType).
const CURVE: [f64; 5] = [2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.040_45];

/// The profile.
///
/// Source: ICC.1:2010, 7.2 (header), 7.3 (tag table), 8.3.3 (matrix display profiles), 10 (types).
pub static PROFILE: LazyLock<Vec<u8>> = LazyLock::new(|| {
    let tags = tags();
    let mut table = (tags.len() as u32).to_be_bytes().to_vec();
    let mut data = Vec::new();
    let begin = HEADER + 4 + 12 * tags.len();
    let mut places: Vec<(Vec<u8>, usize)> = Vec::new();
    for (name, content) in tags {
        let known = places.iter().find(|(known, _)| *known == content).map(|(_, place)| *place);
        let place = known.unwrap_or(begin + data.len());
        if known.is_none() {
            data.extend_from_slice(&content);
            data.resize(data.len().next_multiple_of(4), 0);
        }
        table.extend_from_slice(&name);
        table.extend_from_slice(&(place as u32).to_be_bytes());
        table.extend_from_slice(&(content.len() as u32).to_be_bytes());
        places.push((content, place));
    }
    [header(begin + data.len()), table, data].concat()
});

/// Bytes of the header.
const HEADER: usize = 128;

fn header(size: usize) -> Vec<u8> {
    let mut header = (size as u32).to_be_bytes().to_vec();
    header.extend_from_slice(&[0; 4]);
    // Version 4.2.
    header.extend_from_slice(&[4, 0x20, 0, 0]);
    header.extend_from_slice(b"mntrRGB XYZ ");
    // The day of this profile's making: year, month, day, hour, minute, second.
    header.extend([2026_u16, 11, 25, 0, 0, 0].into_iter().flat_map(u16::to_be_bytes));
    header.extend_from_slice(b"acsp");
    header.extend_from_slice(&[0; 28]);
    header.extend(D50.into_iter().flat_map(fixed));
    header.resize(HEADER, 0);
    header
}

fn tags() -> Vec<([u8; 4], Vec<u8>)> {
    let mut tags = vec![(*b"desc", words(NAME)), (*b"cprt", words("No copyright, use freely"))];
    tags.push((*b"wtpt", xyz(D50)));
    tags.extend(PRIMARIES.map(|(name, colour)| (*name, xyz(colour))));
    tags.extend([*b"rTRC", *b"gTRC", *b"bTRC"].map(|name| (name, curve())));
    tags.push((*b"chad", [b"sf32\0\0\0\0".to_vec(), ADAPTATION.into_iter().flat_map(fixed).collect()].concat()));
    tags
}

fn xyz(colour: [f64; 3]) -> Vec<u8> {
    [b"XYZ \0\0\0\0".to_vec(), colour.into_iter().flat_map(fixed).collect()].concat()
}

fn curve() -> Vec<u8> {
    [b"para\0\0\0\0\0\x03\0\0".to_vec(), CURVE.into_iter().flat_map(fixed).collect()].concat()
}

/// A text in one language, American English.
fn words(text: &str) -> Vec<u8> {
    let wide: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
    let lengths = [1, 12].map(u32::to_be_bytes).concat();
    let place = [wide.len() as u32, 28].map(u32::to_be_bytes).concat();
    [b"mluc\0\0\0\0".to_vec(), lengths, b"enUS".to_vec(), place, wide].concat()
}

/// A number with 16 bits behind the point.
fn fixed(number: f64) -> [u8; 4] {
    ((number * 65536.0).round() as i32).to_be_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_profile_is_small_and_says_its_size() {
        let profile = &*PROFILE;
        assert!(profile.len() < 1024);
        assert_eq!(profile[..4], (profile.len() as u32).to_be_bytes());
        assert_eq!(&profile[36..40], b"acsp");
    }

    #[test]
    fn the_three_colours_make_white() {
        for axis in 0..3 {
            let sum: f64 = PRIMARIES.iter().map(|(_, colour)| colour[axis]).sum();
            assert!((sum - D50[axis]).abs() < 2e-4, "{axis}: {sum}");
        }
    }
}
