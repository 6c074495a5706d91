//! What a run is, as a number: two runs with the same content are the same run.

use std::fmt;

/// Identity of a run: 128 bits of the BLAKE3 hash of all that decides on its numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Id(u128);

impl Id {
    /// The identity of what these texts say, one after another.
    #[must_use]
    pub fn of<'a>(texts: impl IntoIterator<Item = &'a str>) -> Self {
        let mut hasher = blake3::Hasher::new();
        for text in texts {
            // With its length in front, so that no text runs into the next.
            hasher.update(&(text.len() as u64).to_le_bytes());
            hasher.update(text.as_bytes());
        }
        let mut first = [0; 16];
        first.copy_from_slice(&hasher.finalize().as_bytes()[..16]);
        Self(u128::from_be_bytes(first))
    }

    /// Reads what [`fmt::Display`] writes.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        (text.len() == 32).then(|| u128::from_str_radix(text, 16).ok().map(Self)).flatten()
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_do_not_run_into_each_other() {
        assert_ne!(Id::of(["ab", "c"]), Id::of(["a", "bc"]));
        assert_eq!(Id::of(["ab", "c"]), Id::of(["ab", "c"]));
        let id = Id::of(["x"]);
        assert_eq!(Id::parse(&id.to_string()), Some(id));
        assert_eq!(Id::parse("12"), None);
    }
}
