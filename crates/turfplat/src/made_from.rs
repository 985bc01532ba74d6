use std::fmt::Write;
use std::io::{self, Read};

use serde::Serialize;
use sha2::{Digest, Sha256};

/// A file that a plan was made of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MadeFrom {
    /// `map` or `job`.
    pub what: &'static str,
    /// Its name, without folders.
    pub file: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
}

impl MadeFrom {
    /// The file of that name, read to its end in little memory.
    ///
    /// # Errors
    ///
    /// What reading says.
    pub fn of(what: &'static str, file: &str, mut bytes: impl Read) -> io::Result<MadeFrom> {
        let mut hash = Sha256::new();
        let mut piece = vec![0; 1 << 16];
        loop {
            match bytes.read(&mut piece)? {
                0 => break,
                length => hash.update(&piece[..length]),
            }
        }
        Ok(MadeFrom { what, file: file.to_owned(), sha256: hex(&hash.finalize()) })
    }
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing to a text fails never.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn checksums_are_those_of_the_standard() {
        // FIPS 180-2, appendix B.1: SHA-256 of "abc".
        let made = MadeFrom::of("map", "a.geojson", &b"abc"[..]).expect("read");
        assert_eq!(made.sha256, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
