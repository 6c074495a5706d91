//! The nearest known word to a misspelt one.

/// The known word nearest to `word`: the same but for capitals, or at most two slips (a third of the word for long ones) away.
#[must_use]
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    /// Longer words are no slips of the pen.
    const LONGEST: usize = 64;
    if word.len() > LONGEST {
        return None;
    }
    let letters: Vec<char> = word.chars().collect();
    let allowed = (letters.len() / 3).max(2).min(letters.len().saturating_sub(1));
    let mut best: Option<(usize, &str)> = None;
    for candidate in known {
        if candidate.to_lowercase() == word.to_lowercase() {
            return Some(candidate.to_owned());
        }
        let distance = distance(&letters, candidate);
        if distance <= allowed && best.is_none_or(|(smallest, _)| distance < smallest) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate.to_owned())
}

/// Number of letters to insert, delete, replace or swap with a neighbour: the restricted Damerau-Levenshtein distance.
fn distance(from: &[char], to: &str) -> usize {
    let to: Vec<char> = to.chars().collect();
    let mut before_last = vec![0; to.len() + 1];
    let mut last: Vec<usize> = (0..=to.len()).collect();
    for (row, &letter) in from.iter().enumerate() {
        let mut current = vec![row + 1; to.len() + 1];
        for (column, &other) in to.iter().enumerate() {
            let replaced = last[column] + usize::from(letter != other);
            let mut fewest = replaced.min(last[column + 1] + 1).min(current[column] + 1);
            if row > 0 && column > 0 && letter == to[column - 1] && from[row - 1] == other {
                fewest = fewest.min(before_last[column - 1] + 1);
            }
            current[column + 1] = fewest;
        }
        before_last = std::mem::replace(&mut last, current);
    }
    last[to.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_counted() {
        let count = |a: &str, b: &str| distance(&a.chars().collect::<Vec<_>>(), b);
        assert_eq!(count("volume", "volume"), 0);
        assert_eq!(count("vloume", "volume"), 1);
        assert_eq!(count("volme", "volume"), 1);
        assert_eq!(count("kitten", "sitting"), 3);
        assert_eq!(count("", "abc"), 3);
    }

    #[test]
    fn the_nearest_word_is_found_and_a_far_one_is_not() {
        let words = ["length", "sections", "bends", "inlet", "outlet"];
        assert_eq!(nearest("lenght", words).as_deref(), Some("length"));
        assert_eq!(nearest("LENGTH", words).as_deref(), Some("length"));
        assert_eq!(nearest("section", words).as_deref(), Some("sections"));
        assert_eq!(nearest("turbo", words), None);
        assert_eq!(nearest("x", ["y", "z"]), None);
        assert_eq!(nearest(&"a".repeat(1000), words), None);
    }
}
