//! Why the number of a quote hangs on what it says: a second offer for one property on one day, with
//! another price or another lawn, must not bear the number of the first, and the same offer made again
//! must. So a mark of the whole document stands at its end, and no clock, counter or file is asked.

/// Digits and letters that nobody confuses when they are read out: no I, L, O and U (Crockford's base 32).
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// So many of them: of two quotes for a property on a day one pair in 33 million shares a mark.
const LENGTH: u32 = 5;

/// The number of a quote: its day, its property and the mark of its document (the lowest 25 bits of the
/// CRC-32 of ISO/IEC/IEEE 8802-3), as `2026-06-08-lot-7-4H7N2`.
pub(crate) fn number(day: &str, property: &str, document: &str) -> String {
    format!("{day}-{property}-{}", mark(document))
}

fn mark(document: &str) -> String {
    let sum = crc32fast::hash(document.as_bytes());
    let letter = |place: u32| {
        let five_bits = (sum >> (5 * place)) & 0b1_1111;
        // Five bits are below 32.
        LETTERS.get(five_bits as usize).map_or('0', |letter| char::from(*letter))
    };
    (0..LENGTH).rev().map(letter).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_is_the_published_sum_in_letters_that_are_read_out() {
        // The check value of CRC-32 for "123456789" is CBF43926 (ITU-T V.42 and catalogues of CRCs, from
        // memory); its lowest 25 bits, 1F43926, are by hand 11111 01000 01110 01001 00110: Z 8 E 9 6.
        assert_eq!(mark("123456789"), "Z8E96");
        assert_eq!(mark(""), "00000");
        assert_eq!(number("2026-06-08", "lot 7", "123456789"), "2026-06-08-lot 7-Z8E96");
    }
}
