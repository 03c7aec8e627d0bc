//! A picture in greys as PNG (ISO/IEC 15948), for files that hold pictures.

use crate::sheet::Greys;
use miniz_oxide::deflate::compress_to_vec_zlib;

/// How hard to compress: photographs hardly get smaller for more.
const DEFLATE_LEVEL: u8 = 4;

/// The points, each as what it differs by from the one above it (filter type 2, *Up*), compressed:
/// the data of a PNG, and of a PDF whose predictor is that of PNG.
pub(super) fn packed(picture: &Greys) -> Vec<u8> {
    let mut raw = Vec::with_capacity(picture.points.all().len() + 64);
    let mut above: Option<&[u8]> = None;
    for row in picture.rows() {
        raw.push(2);
        match above {
            None => raw.extend_from_slice(row),
            Some(above) => raw.extend(row.iter().zip(above).map(|(p, a)| p.wrapping_sub(*a))),
        }
        above = Some(row);
    }
    compress_to_vec_zlib(&raw, DEFLATE_LEVEL)
}

/// The picture as a file.
pub(super) fn png(picture: &Greys) -> Vec<u8> {
    let mut out = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut head = Vec::with_capacity(13);
    head.extend_from_slice(&picture.wide.to_be_bytes());
    head.extend_from_slice(&picture.high().to_be_bytes());
    // Eight bits, grey, and the one way of compressing, filtering and order that there is.
    head.extend_from_slice(&[8, 0, 0, 0, 0]);
    chunk(&mut out, *b"IHDR", &head);
    chunk(&mut out, *b"IDAT", &packed(picture));
    chunk(&mut out, *b"IEND", &[]);
    out
}

fn chunk(out: &mut Vec<u8>, kind: [u8; 4], data: &[u8]) {
    let long = u32::try_from(data.len()).unwrap_or(u32::MAX);
    out.extend_from_slice(&long.to_be_bytes());
    let from = out.len();
    out.extend_from_slice(&kind);
    out.extend_from_slice(data);
    let check = crc(out.get(from..).unwrap_or_default());
    out.extend_from_slice(&check.to_be_bytes());
}

/// The check of a chunk (ISO/IEC 15948, annex D), four bits at a time.
fn crc(bytes: &[u8]) -> u32 {
    const REVERSED: u32 = 0xEDB8_8320;
    let mut table = [0_u32; 16];
    for (entry, start) in table.iter_mut().zip(0_u32..) {
        *entry = (0..4).fold(start, |c, _| {
            if c & 1 == 1 {
                REVERSED ^ (c >> 1)
            } else {
                c >> 1
            }
        });
    }
    let step = |c: u32, nibble: u8| {
        let at = (c ^ u32::from(nibble)) & 15;
        let entry = usize::try_from(at).ok().and_then(|at| table.get(at));
        entry.copied().unwrap_or(0) ^ (c >> 4)
    };
    !bytes
        .iter()
        .fold(u32::MAX, |c, byte| step(step(c, byte & 15), byte >> 4))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_check_is_the_published_one() {
        // The check value of CRC-32/ISO-HDLC, and the empty IEND chunk of every PNG file.
        assert_eq!(crc(b"123456789"), 0xCBF4_3926);
        assert_eq!(crc(b"IEND"), 0xAE42_6082);
    }
}
