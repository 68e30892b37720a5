//! What a phone sends is never kept as it came: it is decoded within limits, turned upright, made smaller and written anew,
//! so that neither a hostile file nor the place where it was taken travels on.

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};

use super::photo_store::PhotoError;

pub const MOST_MEGAPIXELS: u64 = 40;
/// Enough to see a crack in a disc, small enough for a yard's network.
const LONGEST_SIDE: u32 = 1600;
const QUALITY: u8 = 80;

/// A JPEG of its pixels and of nothing else.
pub fn made_safe(bytes: &[u8]) -> Result<Vec<u8>, PhotoError> {
    let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format()?;
    if !matches!(reader.format(), Some(ImageFormat::Jpeg | ImageFormat::Png)) {
        return Err(PhotoError::UnknownFormat);
    }
    let mut limits = Limits::default();
    limits.max_alloc = Some(512 * 1024 * 1024);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(PhotoError::Unreadable)?;
    let (width, height) = decoder.dimensions();
    if u64::from(width) * u64::from(height) > MOST_MEGAPIXELS * 1_000_000 {
        return Err(PhotoError::TooLarge);
    }
    let orientation = decoder.orientation().map_err(PhotoError::Unreadable)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(PhotoError::Unreadable)?;
    if picture.width().max(picture.height()) > LONGEST_SIDE {
        picture = picture.resize(LONGEST_SIDE, LONGEST_SIDE, FilterType::Triangle);
    }
    picture.apply_orientation(orientation);
    // Only pixels go into the new file: no place, no time, no camera.
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY)
        .encode_image(&picture.to_rgb8())
        .map_err(PhotoError::Unreadable)?;
    Ok(jpeg)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn png(width: u32, height: u32) -> Vec<u8> {
        let picture = DynamicImage::ImageRgb8(image::RgbImage::from_fn(width, height, |x, y| {
            // Left half red, right half blue; the top tenth white.
            let white = y < height / 10;
            image::Rgb(if white {
                [255; 3]
            } else if x < width / 2 {
                [255, 0, 0]
            } else {
                [0, 0, 255]
            })
        }));
        let mut out = Vec::new();
        picture.write_to(&mut Cursor::new(&mut out), ImageFormat::Png).unwrap();
        out
    }

    /// A JPEG with an EXIF orientation, as a phone held upright writes it (Exif 2.3, tag 0x0112).
    fn turned(orientation: u8) -> Vec<u8> {
        let picture = image::load_from_memory(&png(200, 100)).unwrap();
        let mut jpeg = Vec::new();
        JpegEncoder::new_with_quality(&mut jpeg, 90).encode_image(&picture.to_rgb8()).unwrap();
        let tiff = [
            b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".as_slice(),
            &[orientation, 0, 0, 0, 0, 0, 0],
        ]
        .concat();
        let length = u16::try_from(tiff.len() + 2).unwrap().to_be_bytes();
        [&jpeg[..2], &[0xff, 0xe1], &length, &tiff, &jpeg[2..]].concat()
    }

    #[test]
    fn a_large_picture_is_shrunk_and_stays_in_proportion() {
        let safe = image::load_from_memory(&made_safe(&png(3200, 1600)).unwrap()).unwrap();
        assert_eq!((safe.width(), safe.height()), (1600, 800));
    }

    #[test]
    fn it_is_turned_upright_and_nothing_is_left_of_the_camera() {
        let with_exif = turned(6);
        assert!(with_exif.windows(4).any(|w| w == b"Exif"));
        let safe = made_safe(&with_exif).unwrap();
        assert!(!safe.windows(4).any(|w| w == b"Exif"));
        let safe = image::load_from_memory(&safe).unwrap().to_rgb8();
        // Orientation 6: row 0 is on the visual right, so the white edge goes right and the red half goes up.
        assert_eq!(safe.dimensions(), (100, 200));
        let is = |x, y, wanted: [u8; 3]| {
            let p = safe.get_pixel(x, y).0;
            assert!(p.iter().zip(wanted).all(|(a, b)| a.abs_diff(b) < 60), "{x},{y}: {p:?}");
        };
        is(97, 100, [255, 255, 255]);
        is(40, 20, [255, 0, 0]);
        is(40, 180, [0, 0, 255]);
    }

    #[test]
    fn what_is_no_picture_or_a_bomb_is_refused() {
        assert!(matches!(made_safe(b"GIF89a and more"), Err(PhotoError::UnknownFormat)));
        assert!(matches!(made_safe(b""), Err(PhotoError::UnknownFormat)));
        let whole = png(300, 300);
        assert!(matches!(made_safe(&whole[..whole.len() / 2]), Err(PhotoError::Unreadable(_))));
        // A header that promises 60,000 × 60,000 pixels; the checksum is made to fit (PNG: CRC-32 over type and data).
        let mut bomb = whole;
        bomb[16..24].copy_from_slice(&[0, 0, 0xea, 0x60, 0, 0, 0xea, 0x60]);
        let sum = crc32(&bomb[12..29]);
        bomb[29..33].copy_from_slice(&sum.to_be_bytes());
        assert!(matches!(made_safe(&bomb), Err(PhotoError::TooLarge)));
    }

    fn crc32(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(!0_u32, |sum, b| {
            (0..8).fold(sum ^ u32::from(*b), |s, _| if s & 1 == 1 { (s >> 1) ^ 0xedb8_8320 } else { s >> 1 })
        })
    }
}
