//! A PNG logo as an image with a soft mask.
//!
//! Comes in: the file's bytes. Goes out: a [`Prepared`] image. Next: [`super::super::finish`].

use super::{LogoFault, Prepared};
use crate::paint::pdf::compress::compress_best;
use lopdf::{Dictionary, Stream, dictionary};

/// Most pixels on a side that are kept: 36 pt at about 570 dpi.
const SIDE: usize = 288;
/// Most pixels of a file that is read at all.
const PIXELS: usize = 16_000_000;

/// An image with 8 bits for red, green, blue and alpha.
struct Pixels {
    width: usize,
    height: usize,
    rgba: Vec<[u8; 4]>,
}

pub fn prepare(bytes: &[u8]) -> Result<Prepared, LogoFault> {
    let pixels = read(bytes)?;
    let size = [pixels.width as f64, pixels.height as f64];
    let pixels = smaller(pixels);
    if pixels.rgba.iter().all(|pixel| pixel[3] == 0) {
        return Err(LogoFault::Empty);
    }
    let opaque = pixels.rgba.iter().all(|pixel| pixel[3] == 255);
    let colours: Vec<u8> = pixels.rgba.iter().flat_map(|&[red, green, blue, _]| [red, green, blue]).collect();
    let alpha: Vec<u8> = pixels.rgba.iter().map(|pixel| pixel[3]).collect();
    let image = |space: &str, data: &[u8]| Stream::new(dictionary(&pixels, space), compress_best(data));
    Ok(Prepared { size, object: image("DeviceRGB", &colours), mask: (!opaque).then(|| image("DeviceGray", &alpha)) })
}

fn dictionary(pixels: &Pixels, space: &str) -> Dictionary {
    dictionary! {
        "Type" => "XObject",
        "Subtype" => "Image",
        "Width" => pixels.width as i64,
        "Height" => pixels.height as i64,
        "ColorSpace" => space,
        "BitsPerComponent" => 8,
        "Filter" => "FlateDecode",
    }
}

fn read(bytes: &[u8]) -> Result<Pixels, LogoFault> {
    let unreadable = |error: png::DecodingError| LogoFault::Unreadable(error.to_string());
    let mut decoder = png::Decoder::new(std::io::Cursor::new(bytes));
    decoder.set_transformations(png::Transformations::normalize_to_color8());
    let mut reader = decoder.read_info().map_err(unreadable)?;
    let (width, height) = (reader.info().width as usize, reader.info().height as usize);
    if width.saturating_mul(height) > PIXELS {
        return Err(LogoFault::Unsupported("more than 16 million pixels"));
    }
    let length = reader.output_buffer_size().ok_or(LogoFault::Unsupported("more pixels than memory holds"))?;
    let mut buffer = vec![0; length];
    let frame = reader.next_frame(&mut buffer).map_err(unreadable)?;
    let samples = frame.color_type.samples();
    let pixel = |part: &[u8]| match *part {
        [grey] => [grey, grey, grey, 255],
        [grey, alpha] => [grey, grey, grey, alpha],
        [red, green, blue] => [red, green, blue, 255],
        [red, green, blue, alpha, ..] => [red, green, blue, alpha],
        [] => [0; 4],
    };
    Ok(Pixels { width, height, rgba: buffer[..frame.buffer_size()].chunks(samples).map(pixel).collect() })
}

/// The image with at most [`SIDE`] pixels a side: each pixel is the mean of those it stands for, weighted by alpha.
fn smaller(pixels: Pixels) -> Pixels {
    let longest = pixels.width.max(pixels.height);
    if longest <= SIDE {
        return pixels;
    }
    let [width, height] = [pixels.width, pixels.height].map(|side| (side * SIDE / longest).max(1));
    let mut rgba = Vec::with_capacity(width * height);
    for y in 0..height {
        let rows = y * pixels.height / height..((y + 1) * pixels.height / height).max(y * pixels.height / height + 1);
        for x in 0..width {
            let columns = x * pixels.width / width..((x + 1) * pixels.width / width).max(x * pixels.width / width + 1);
            rgba.push(mean(&pixels, columns, rows.clone()));
        }
    }
    Pixels { width, height, rgba }
}

fn mean(pixels: &Pixels, columns: std::ops::Range<usize>, rows: std::ops::Range<usize>) -> [u8; 4] {
    let (mut sum, mut alpha) = ([0u64; 3], 0u64);
    let count = (columns.len() * rows.len()) as u64;
    for pixel in rows.flat_map(|y| &pixels.rgba[y * pixels.width..][columns.clone()]) {
        let weight = u64::from(pixel[3]);
        alpha += weight;
        for (sum, &part) in sum.iter_mut().zip(pixel) {
            *sum += u64::from(part) * weight;
        }
    }
    let [red, green, blue] = sum.map(|sum| (sum + alpha / 2).checked_div(alpha).unwrap_or(0) as u8);
    [red, green, blue, ((alpha + count / 2) / count) as u8]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(width: u32, height: u32, rgba: &[u8]) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, width, height);
        encoder.set_color(png::ColorType::Rgba);
        let mut writer = encoder.write_header().expect("in memory");
        writer.write_image_data(rgba).expect("in memory");
        writer.finish().expect("in memory");
        bytes
    }

    #[test]
    fn alpha_becomes_a_soft_mask_and_an_opaque_picture_has_none() {
        let half = prepare(&file(2, 1, &[255, 0, 0, 128, 0, 0, 255, 255])).expect("a picture");
        assert_eq!(half.size, [2.0, 1.0]);
        assert!(half.mask.is_some());
        assert!(prepare(&file(1, 1, &[1, 2, 3, 255])).expect("a picture").mask.is_none());
    }

    #[test]
    fn a_large_picture_is_made_smaller_with_its_colours() {
        let pixels = smaller(Pixels { width: 1152, height: 4, rgba: vec![[200, 100, 50, 255]; 1152 * 4] });
        assert_eq!((pixels.width, pixels.height), (288, 1));
        assert!(pixels.rgba.iter().all(|pixel| *pixel == [200, 100, 50, 255]));
    }

    #[test]
    fn what_cannot_be_used_is_said() {
        assert!(matches!(prepare(b"not a picture"), Err(LogoFault::Unreadable(_))));
        assert_eq!(prepare(&file(1, 1, &[9, 9, 9, 0])).unwrap_err(), LogoFault::Empty);
        let whole = file(9, 9, &[77; 9 * 9 * 4]);
        assert!(prepare(&whole[..whole.len() / 2]).is_err());
    }
}
