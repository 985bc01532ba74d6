//! Why an encoding is looked for in three places and then doubted: a table says it in a `.cpg`
//! beside it, or in one byte of its header, or nowhere; programs copy the byte from elsewhere, and
//! a name in the wrong letters becomes another customer's. Text that is UTF-8 beyond ASCII hardly
//! ever comes about by chance, so it is taken as that unless the table says that its letters take
//! two bytes, whose text may look so (GBK is known for it).

use std::str::Utf8Error;

use encoding_rs::{BIG5, EUC_KR, GB18030, GBK, MACINTOSH, SHIFT_JIS, UTF_8, WINDOWS_1252};

/// How the text of a table is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Encoding {
    Known(&'static encoding_rs::Encoding),
    /// A page of DOS: its upper 128 characters.
    Dos(&'static str),
}

impl Encoding {
    /// What the `.cpg` names, else the language driver byte of the `.dbf`, else Windows-1252.
    pub(super) fn of(cpg: Option<&[u8]>, driver: u8) -> Encoding {
        let start = cpg.map(|cpg| cpg.get(..64).unwrap_or(cpg)).unwrap_or_default();
        let name = String::from_utf8_lossy(start);
        let name = name.trim_matches(|c: char| !c.is_ascii_alphanumeric());
        named(name).or_else(|| driven(driver)).unwrap_or(Encoding::Known(WINDOWS_1252))
    }

    /// Text out of bytes; `is_full` of a field that has room for no more, so that its last
    /// character may be cut.
    pub(super) fn text(self, bytes: &[u8], is_full: bool) -> String {
        let by_pairs = match self {
            Encoding::Known(known) => {
                [BIG5, EUC_KR, GB18030, GBK, SHIFT_JIS].into_iter().find(|pairs| *pairs == known)
            }
            Encoding::Dos(_) => None,
        };
        if let Some(by_pairs) = by_pairs {
            return by_pairs.decode_without_bom_handling(bytes).0.into_owned();
        }
        let is_cut = |error: &Utf8Error, whole: &str| {
            let says_utf8 = self == Encoding::Known(UTF_8);
            error.error_len().is_none() && is_full && (says_utf8 || !whole.is_ascii())
        };
        match std::str::from_utf8(bytes) {
            Ok(text) => return text.to_owned(),
            Err(error) => {
                let whole = bytes.get(..error.valid_up_to()).unwrap_or_default();
                let whole = String::from_utf8_lossy(whole);
                if is_cut(&error, &whole) {
                    return whole.into_owned();
                }
            }
        }
        match self {
            Encoding::Known(known) if known == UTF_8 => {
                WINDOWS_1252.decode_without_bom_handling(bytes).0.into_owned()
            }
            Encoding::Known(known) => known.decode_without_bom_handling(bytes).0.into_owned(),
            Encoding::Dos(upper) => bytes.iter().map(|byte| of_dos(*byte, upper)).collect(),
        }
    }
}

fn of_dos(byte: u8, upper: &str) -> char {
    let place = byte.checked_sub(128).map(usize::from);
    place.map_or(char::from(byte), |place| upper.chars().nth(place).unwrap_or_default())
}

/// An encoding by what a `.cpg` calls it: `UTF-8`, `1252`, `ANSI 1252`, `ISO-8859-1`, `88591`.
fn named(name: &str) -> Option<Encoding> {
    if let Some(known) = encoding_rs::Encoding::for_label(name.as_bytes()) {
        // Of two bytes for each letter no table is written.
        return known.is_ascii_compatible().then_some(Encoding::Known(known));
    }
    let digits: String = name.chars().filter(char::is_ascii_digit).collect();
    match digits.strip_prefix("8859") {
        Some(part) => label(&format!("iso-8859-{part}")),
        None => paged(digits.parse().ok()?),
    }
}

/// An encoding by its code page, as Windows and DOS number them.
fn paged(page: u32) -> Option<Encoding> {
    let known = match page {
        437 => return Some(Encoding::Dos(PAGE_437)),
        850 => return Some(Encoding::Dos(PAGE_850)),
        932 => SHIFT_JIS,
        936 => GBK,
        949 => EUC_KR,
        950 => BIG5,
        10000 => MACINTOSH,
        54936 => GB18030,
        65001 => UTF_8,
        866 => return label("ibm866"),
        28591..=28606 => return label(&format!("iso-8859-{}", page - 28590)),
        874 | 1250..=1258 => return label(&format!("windows-{page}")),
        _ => return None,
    };
    Some(Encoding::Known(known))
}

fn label(label: &str) -> Option<Encoding> {
    encoding_rs::Encoding::for_label(label.as_bytes()).map(Encoding::Known)
}

/// An encoding by the language driver byte of a table. Source: dBASE and FoxPro language drivers
/// as shapelib and GDAL list them (`shape` driver, `ogrshapelayer.cpp`).
fn driven(driver: u8) -> Option<Encoding> {
    paged(match driver {
        0x01 | 0x09 | 0x0b | 0x0d | 0x0f | 0x11 | 0x15 | 0x18 | 0x19 | 0x1b => 437,
        0x02 | 0x0a | 0x0e | 0x10 | 0x12 | 0x14 | 0x16 | 0x1a | 0x1d | 0x25 | 0x37 => 850,
        0x03 | 0x57..=0x59 => 1252,
        0x04 => 10000,
        0x13 | 0x7b => 932,
        0x4d | 0x7a => 936,
        0x4e | 0x79 => 949,
        0x4f | 0x78 => 950,
        0x50 | 0x7c => 874,
        0x26 | 0x65 => 866,
        0x7d => 1255,
        0x7e => 1256,
        0xc8 => 1250,
        0xc9 => 1251,
        0xca => 1254,
        0xcb => 1253,
        0xcc => 1257,
        _ => return None,
    })
}

/// The upper half of code page 437. Source: Unicode Consortium, CP437.TXT.
const PAGE_437: &str = "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜ¢£¥₧ƒáíóúñÑªº¿⌐¬½¼¡«»░▒▓│┤╡╢╖╕╣║╗╝╜╛┐\
    └┴┬├─┼╞╟╚╔╩╦╠═╬╧╨╤╥╙╘╒╓╫╪┘┌█▄▌▐▀αßΓπΣσµτΦΘΩδ∞φε∩≡±≥≤⌠⌡÷≈°∙·√ⁿ²■\u{a0}";

/// The upper half of code page 850. Source: Unicode Consortium, CP850.TXT.
const PAGE_850: &str = "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜø£Ø×ƒáíóúñÑªº¿®¬½¼¡«»░▒▓│┤ÁÂÀ©╣║╗╝¢¥┐\
    └┴┬├─┼ãÃ╚╔╩╦╠═╬¤ðÐÊËÈıÍÎÏ┘┌█▄¦Ì▀ÓßÔÒõÕµþÞÚÛÙýÝ¯´\u{ad}±‗¾¶§÷¸°¨·¹³²■\u{a0}";
