//! Pictures that people send, made anew: what comes out is a JPEG of ours, with nothing of the file that was sent but what
//! is seen on it. Where and with which phone it was taken stays behind.

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};
use std::io::Cursor;

/// Of the file that is sent, in bytes.
pub const MOST_BYTES: usize = 12 * 1024 * 1024;
/// More than any phone takes; a few bytes can claim to be far larger.
const MOST_DOTS: u64 = 50_000_000;
const MOST_SIDE: u32 = 12_000;
/// Of the picture as it is unpacked: 50 million dots in three colours of eight bits are 150 MB.
const MOST_MEMORY: u64 = 200 * 1024 * 1024;
const LARGE_SIDE: u32 = 1_600;
const SMALL_SIDE: u32 = 320;

#[derive(Debug, PartialEq, Eq)]
pub struct Developed {
    pub width: u32,
    pub height: u32,
    /// JPEG.
    pub large: Vec<u8>,
    pub small: Vec<u8>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PhotoRefusal {
    #[error("That is no photo that can be read. Send a JPEG, PNG or WebP picture.")]
    NoPicture,
    #[error("That photo ends before its picture does: it did not come whole. Send it again.")]
    EndsEarly,
    #[error("That picture has too many dots: at most 50 million. Send a smaller one.")]
    TooManyDots,
    #[error("A photo may have 12 MB. Send a smaller one.")]
    TooLarge,
    #[error("That photo was refused on its way here. Send a smaller one.")]
    RefusedOnItsWay,
    #[error("That picture could not be kept.")]
    NotKept,
}

/// Takes up to a second: call it where it keeps nobody waiting.
pub fn developed(sent: &[u8]) -> Result<Developed, PhotoRefusal> {
    let reader = ImageReader::new(Cursor::new(sent)).with_guessed_format();
    let mut reader = reader.map_err(|_| PhotoRefusal::NoPicture)?;
    // What its first bytes say counts, whatever its name and the browser claim.
    if !matches!(
        reader.format(),
        Some(ImageFormat::Jpeg | ImageFormat::Png | ImageFormat::WebP)
    ) {
        return Err(PhotoRefusal::NoPicture);
    }
    let is_jpeg = reader.format() == Some(ImageFormat::Jpeg);
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_MEMORY);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|_| PhotoRefusal::NoPicture)?;
    let (width, height) = decoder.dimensions();
    if width > MOST_SIDE || height > MOST_SIDE || u64::from(width) * u64::from(height) > MOST_DOTS {
        return Err(PhotoRefusal::TooManyDots);
    }
    // Decoders paint what is missing grey.
    if is_jpeg && !reaches_its_end(sent) {
        return Err(PhotoRefusal::EndsEarly);
    }
    if decoder.total_bytes() > MOST_MEMORY {
        return Err(PhotoRefusal::TooManyDots);
    }
    let turned = decoder.orientation().map_err(|_| PhotoRefusal::NoPicture)?;
    let picture = DynamicImage::from_decoder(decoder).map_err(|_| PhotoRefusal::NoPicture)?;
    // Made small before it is turned: to turn it takes as much memory again.
    let mut large = within(&picture, LARGE_SIDE);
    drop(picture);
    large.apply_orientation(turned);
    let small = within(&large, SMALL_SIDE);
    Ok(Developed {
        width: large.width(),
        height: large.height(),
        large: jpeg(&large, 82)?,
        small: jpeg(&small, 76)?,
    })
}

/// ITU-T T.81 B.1.1: segments of a marker and a length, then from a start of scan (0xFFDA) coded dots, in which no 0xFFD9
/// (end of image) stands but as the marker. A preview with an end of its own lies inside a segment.
fn reaches_its_end(jpeg: &[u8]) -> bool {
    let mut rest = jpeg.get(2..).unwrap_or_default();
    loop {
        match rest {
            [0xff, 0xff, ..] => rest = &rest[1..],
            [0xff, 0xda, ..] => return rest.windows(2).any(|pair| pair == [0xff, 0xd9]),
            [0xff, _, high, low, ..] => {
                let length = usize::from(u16::from_be_bytes([*high, *low]));
                rest = rest.get(2 + length..).unwrap_or_default();
            }
            _ => return false,
        }
    }
}

fn within(picture: &DynamicImage, side: u32) -> DynamicImage {
    let longer = picture.width().max(picture.height());
    let flat = |picture: DynamicImage| DynamicImage::ImageRgb8(picture.into_rgb8());
    if longer <= side {
        return flat(picture.clone());
    }
    // Halved roughly first: a quarter of the work for a picture of a phone.
    let rough = if longer > side * 4 {
        picture.thumbnail(side * 2, side * 2)
    } else {
        picture.clone()
    };
    flat(rough.resize(side, side, FilterType::Triangle))
}

fn jpeg(picture: &DynamicImage, quality: u8) -> Result<Vec<u8>, PhotoRefusal> {
    let mut out = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut out, quality);
    picture
        .write_with_encoder(encoder)
        .map_err(|_| PhotoRefusal::NotKept)?;
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Red above, green below.
    fn flag(width: u32, height: u32) -> DynamicImage {
        let dot = |_, y| {
            if y < height / 2 {
                image::Rgb([220_u8, 0, 0])
            } else {
                image::Rgb([0, 220, 0])
            }
        };
        DynamicImage::ImageRgb8(image::RgbImage::from_fn(width, height, dot))
    }

    fn sent_as(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
        let mut bytes = Cursor::new(Vec::new());
        picture.write_to(&mut bytes, format).expect("a picture");
        bytes.into_inner()
    }

    fn read(jpeg: &[u8]) -> image::RgbImage {
        assert_eq!(
            image::guess_format(jpeg).expect("a format"),
            ImageFormat::Jpeg
        );
        image::load_from_memory(jpeg)
            .expect("a picture")
            .into_rgb8()
    }

    #[test]
    fn each_kind_of_picture_comes_out_as_a_jpeg_within_its_sides() {
        for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP] {
            let made = developed(&sent_as(&flag(4_000, 3_000), format)).expect("a photo");
            assert_eq!((made.width, made.height), (1_600, 1_200));
            assert_eq!(read(&made.large).dimensions(), (1_600, 1_200));
            assert_eq!(read(&made.small).dimensions(), (320, 240));
            assert!(made.large.len() < 100_000 && made.small.len() < 10_000);
        }
        let tiny = developed(&sent_as(&flag(40, 30), ImageFormat::Png)).expect("a photo");
        assert_eq!(
            read(&tiny.large).dimensions(),
            (40, 30),
            "never made larger"
        );
    }

    /// Exif 2.32 (CIPA DC-008): orientation 6 means that the upper row of dots is the right side; and where it was taken.
    fn with_exif(jpeg: &[u8]) -> Vec<u8> {
        let mut tiff = b"MM\0*\0\0\0\x08\0\x02".to_vec();
        tiff.extend(b"\x01\x12\0\x03\0\0\0\x01\0\x06\0\0");
        tiff.extend(b"\x01\x0f\0\x02\0\0\0\x09\0\0\0\x26");
        tiff.extend(b"\0\0\0\0MillPhone");
        let mut exif = b"Exif\0\0".to_vec();
        exif.extend(tiff);
        let length = u16::try_from(exif.len() + 2).expect("short").to_be_bytes();
        let mut out = jpeg[..2].to_vec();
        out.extend([0xff, 0xe1]);
        out.extend(length);
        out.extend(exif);
        out.extend(&jpeg[2..]);
        out
    }

    #[test]
    fn a_photo_is_turned_upright_and_nothing_else_of_its_exif_is_left() {
        let sent = with_exif(&sent_as(&flag(600, 400), ImageFormat::Jpeg));
        assert!(sent.windows(9).any(|bytes| bytes == b"MillPhone"));
        let made = developed(&sent).expect("a photo");
        assert_eq!((made.width, made.height), (400, 600));
        let picture = read(&made.large);
        let (right, left) = (picture.get_pixel(380, 300), picture.get_pixel(20, 300));
        assert!(
            right[0] > 150 && right[1] < 80 && left[1] > 150 && left[0] < 80,
            "{right:?} {left:?}"
        );
        for bytes in [&made.large, &made.small] {
            assert!(!bytes.windows(9).any(|part| part == b"MillPhone"));
            assert!(!bytes.windows(4).any(|part| part == b"Exif"));
        }
    }

    /// Also where a preview inside has an end of its own.
    #[test]
    fn a_photo_that_did_not_come_whole_is_refused_wherever_it_was_cut() {
        let whole = sent_as(&flag(600, 400), ImageFormat::Jpeg);
        for sent in [whole.clone(), with_exif(&whole)] {
            assert!(developed(&sent).is_ok());
            for part in [30, 60, 90, 99] {
                let cut = &sent[..sent.len() * part / 100];
                assert!(
                    matches!(
                        developed(cut),
                        Err(PhotoRefusal::EndsEarly | PhotoRefusal::NoPicture)
                    ),
                    "{part} of 100"
                );
            }
        }
        assert_eq!(
            developed(&whole[..whole.len() - 2]),
            Err(PhotoRefusal::EndsEarly)
        );
        for format in [ImageFormat::Png, ImageFormat::WebP] {
            let whole = sent_as(&flag(600, 400), format);
            assert_eq!(
                developed(&whole[..whole.len() / 2]),
                Err(PhotoRefusal::NoPicture),
                "{format:?}"
            );
        }
    }

    #[test]
    fn what_is_no_picture_is_refused_whatever_it_is_called() {
        for sent in [
            b"".as_slice(),
            b"GIF89a\x01\0\x01\0",
            b"<svg xmlns='http://www.w3.org/2000/svg'/>",
            b"<html>",
            b"\xff\xd8\xff\xe0 and no more",
            b"\x89PNG\r\n\x1a\n",
        ] {
            assert_eq!(developed(sent), Err(PhotoRefusal::NoPicture), "{sent:?}");
        }
    }

    /// 900 million dots in a few hundred kilobytes: PNG with every row alike.
    #[test]
    fn a_picture_that_claims_to_be_huge_is_refused_before_it_is_unpacked() {
        let mut bomb = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
        bomb.extend(30_000_u32.to_be_bytes());
        bomb.extend(30_000_u32.to_be_bytes());
        bomb.extend(b"\x08\x02\0\0\0");
        let mut sum = flate2::Crc::new();
        sum.update(&bomb[12..]);
        bomb.extend(sum.sum().to_be_bytes());
        let mut packed = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::fast());
        std::io::copy(
            &mut std::io::Read::take(std::io::repeat(0), 90_001 * 2_000),
            &mut packed,
        )
        .expect("packed");
        let packed = packed.finish().expect("packed");
        bomb.extend(u32::try_from(packed.len()).expect("short").to_be_bytes());
        let start = bomb.len();
        bomb.extend(b"IDAT");
        bomb.extend(&packed);
        let mut sum = flate2::Crc::new();
        sum.update(&bomb[start..]);
        bomb.extend(sum.sum().to_be_bytes());
        assert!(bomb.len() < MOST_BYTES);
        let begun = std::time::Instant::now();
        assert_eq!(developed(&bomb), Err(PhotoRefusal::TooManyDots));
        assert!(begun.elapsed().as_secs_f64() < 1.0, "{:?}", begun.elapsed());
    }

    #[test]
    fn a_picture_that_takes_too_much_room_to_unpack_is_refused() {
        // 30 million dots in four colours of sixteen bits: 240 MB.
        let deep = image::ImageBuffer::<image::Rgba<u16>, Vec<u16>>::new(6_000, 5_000);
        let sent = sent_as(&DynamicImage::ImageRgba16(deep), ImageFormat::Png);
        assert!(sent.len() < MOST_BYTES);
        assert_eq!(developed(&sent), Err(PhotoRefusal::TooManyDots));
    }

    proptest! {
        #[test]
        fn no_bytes_stop_it(sent in proptest::collection::vec(any::<u8>(), 0..400), kind in 0_usize..4, cut in 0_usize..4_000) {
            let mut whole = match kind {
                0 => b"\xff\xd8\xff\xe0\0\x10JFIF\0".to_vec(),
                1 => b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec(),
                2 => b"RIFF\x40\0\0\0WEBPVP8 ".to_vec(),
                _ => sent_as(&flag(30, 20), ImageFormat::Jpeg),
            };
            whole.truncate(whole.len().min(cut));
            whole.extend(sent);
            let _ = developed(&whole);
        }
    }
}
