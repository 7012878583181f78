//! What kind of file it is, told by its first bytes and never by its name.

use std::fmt;

/// A picture format that is decoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// JPEG, baseline and progressive.
    Jpeg,
    /// PNG; of an animated one the default picture.
    Png,
    /// TIFF and BigTIFF, also with an OME-XML or ImageJ description; the first page.
    Tiff,
    /// Windows bitmap.
    Bmp,
    /// WebP; of an animated one the first frame.
    Webp,
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Jpeg => "JPEG",
            Self::Png => "PNG",
            Self::Tiff => "TIFF",
            Self::Bmp => "BMP",
            Self::Webp => "WebP",
        })
    }
}

/// What the first bytes of a file say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Recognised {
    /// A format that is decoded.
    Known(Format),
    /// A format that is known by name and not decoded.
    Foreign(&'static str),
    /// No format that is known here.
    Unknown,
}

/// First bytes of formats that are not decoded: offset, bytes, name.
const FOREIGN: &[(usize, &[u8], &str)] = &[
    (0, b"GIF87a", "GIF"),
    (0, b"GIF89a", "GIF"),
    (4, b"ftypheic", "HEIC"),
    (4, b"ftypheix", "HEIC"),
    (4, b"ftyphevc", "HEIC"),
    (4, b"ftypmif1", "HEIF"),
    (4, b"ftypmsf1", "HEIF"),
    (4, b"ftypavif", "AVIF"),
    (4, b"ftypavis", "AVIF"),
    (4, b"ftypcrx ", "CR3 camera raw"),
    (4, b"ftyp", "video"),
    (8, b"CR\x02\0", "CR2 camera raw"),
    (0, b"FUJIFILMCCD-RAW", "RAF camera raw"),
    (0, b"IIRO", "ORF camera raw"),
    (0, b"IIU\0", "RW2 camera raw"),
    (0, b"\0\0\0\x0cJXL ", "JPEG XL"),
    (0, b"\xff\x0a", "JPEG XL"),
    (0, b"\0\0\0\x0cjP  ", "JPEG 2000"),
    (0, b"\xff\x4f\xff\x51", "JPEG 2000"),
    (0, b"8BPS", "PSD"),
    (0, b"%PDF", "PDF"),
    (0, b"ZISRAWFILE", "CZI"),
    (0, b"\xda\xce\xbe\x0a", "ND2"),
    (0, b"SIMPLE  =", "FITS"),
    (0, b"\x76\x2f\x31\x01", "OpenEXR"),
    (0, b"P5\n", "PGM"),
    (0, b"P6\n", "PPM"),
    (0, b"PK\x03\x04", "ZIP"),
];

/// Tells the format of a file from its content.
pub fn recognise(bytes: &[u8]) -> Recognised {
    let begins = |offset: usize, with: &[u8]| {
        bytes
            .get(offset..offset + with.len())
            .is_some_and(|head| head == with)
    };
    for (offset, with, name) in FOREIGN {
        if begins(*offset, with) {
            return Recognised::Foreign(name);
        }
    }
    if begins(0, b"\xff\xd8\xff") {
        Recognised::Known(Format::Jpeg)
    } else if begins(0, b"\x89PNG\r\n\x1a\n") {
        Recognised::Known(Format::Png)
    } else if [&b"II*\0"[..], b"MM\0*", b"II+\0", b"MM\0+"]
        .iter()
        .any(|head| begins(0, head))
    {
        Recognised::Known(Format::Tiff)
    } else if begins(0, b"BM") && bytes.len() >= 26 {
        Recognised::Known(Format::Bmp)
    } else if begins(0, b"RIFF") && begins(8, b"WEBP") {
        Recognised::Known(Format::Webp)
    } else {
        Recognised::Unknown
    }
}

/// Says whether a JPEG reaches its end marker.
///
/// The decoder fills what is missing of a truncated file with grey, which must not be measured;
/// so the segments are walked to the first scan and the scans searched for the end marker.
///
/// # Source
/// ITU-T T.81, annex B: marker segments carry their length; inside a scan 0xFF is followed by a
/// stuffed 0x00 or a restart marker (0xD0 to 0xD7), else it starts the next marker.
pub fn jpeg_is_whole(bytes: &[u8]) -> bool {
    let mut at = 2;
    loop {
        let (Some(&first), Some(&marker)) = (bytes.get(at), bytes.get(at + 1)) else {
            return false;
        };
        match (first, marker) {
            (0xff, 0xd9) => return true,
            (0xff, 0x01 | 0xd0..=0xd8) => at += 2,
            // Fill bytes before a marker, scan data and stuffed bytes.
            (_, 0x00 | 0xff) | (0x00..=0xfe, _) => at += 1,
            (0xff, _) => {
                let (Some(&high), Some(&low)) = (bytes.get(at + 2), bytes.get(at + 3)) else {
                    return false;
                };
                at += 2 + usize::from(u16::from_be_bytes([high, low])).max(2);
            }
        }
    }
}

/// Says whether a WebP file has the length that its header states.
///
/// # Source
/// RFC 9649: the length of what follows the first eight bytes stands in bytes 4 to 7.
pub fn webp_is_whole(bytes: &[u8]) -> bool {
    let Some(&[a, b, c, d]) = bytes.get(4..8) else {
        return false;
    };
    bytes.len() as u64 >= 8 + u64::from(u32::from_le_bytes([a, b, c, d]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_content_tells_the_format() {
        assert_eq!(recognise(b""), Recognised::Unknown);
        assert_eq!(recognise(b"some words"), Recognised::Unknown);
        assert_eq!(recognise(b"GIF89a...."), Recognised::Foreign("GIF"));
        assert_eq!(
            recognise(b"RIFF\0\0\0\0WEBPVP8 "),
            Recognised::Known(Format::Webp)
        );
        assert_eq!(
            recognise(b"\0\0\0\x18ftypheic"),
            Recognised::Foreign("HEIC")
        );
    }

    #[test]
    fn an_end_marker_inside_a_segment_is_not_the_end() {
        // A start marker, a comment segment that holds FF D9, then nothing.
        let thumbnail = b"\xff\xd8\xff\xfe\x00\x04\xff\xd9";
        assert!(!jpeg_is_whole(thumbnail));
        let whole = b"\xff\xd8\xff\xfe\x00\x04\xff\xd9\xff\xd9";
        assert!(jpeg_is_whole(whole));
        let scan = b"\xff\xd8\xff\xda\x00\x02\x11\xff\x00\xff\xd0\x12\xff\xd9";
        assert!(jpeg_is_whole(scan));
    }
}
