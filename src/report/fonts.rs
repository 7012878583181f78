//! The typefaces of the page: Noto Sans, and Noto Sans Thai where it has no letters.
//!
//! Both are under the SIL Open Font License 1.1, which allows embedding; the notice lies beside
//! the files and in `docs/licences/noto-fonts.txt`. A window may use the same as its fallbacks.

/// Name of the family that every text asks for first.
pub const FAMILY: &str = "Noto Sans";
/// Name of the family that is asked where the first has no letter.
pub const FALLBACK_FAMILY: &str = "Noto Sans Thai";

/// Noto Sans Regular: Latin with the letters of Vietnamese, Greek, Cyrillic.
pub static REGULAR: &[u8] = include_bytes!("fonts/NotoSans-Regular.ttf");
/// Noto Sans Bold.
pub static BOLD: &[u8] = include_bytes!("fonts/NotoSans-Bold.ttf");
/// Noto Sans Thai Regular.
pub static THAI_REGULAR: &[u8] = include_bytes!("fonts/NotoSansThai-Regular.ttf");
/// Noto Sans Thai Bold.
pub static THAI_BOLD: &[u8] = include_bytes!("fonts/NotoSansThai-Bold.ttf");

/// All of them.
pub static ALL: [&[u8]; 4] = [REGULAR, BOLD, THAI_REGULAR, THAI_BOLD];
