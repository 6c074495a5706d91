//! Words as a shell takes them.

/// `word` as a shell takes it.
pub(crate) fn quoted(word: &str) -> String {
    let plain =
        |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.' | '/' | '+' | '=' | ',' | ':' | '@' | '%');
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

#[cfg(test)]
mod tests {
    use super::quoted;

    #[test]
    fn words_are_quoted_as_a_shell_takes_them() {
        assert_eq!(quoted("cases/twin-1.yaml"), "cases/twin-1.yaml");
        assert_eq!(quoted("my case.yaml"), "'my case.yaml'");
        assert_eq!(quoted("it's"), r"'it'\''s'");
    }
}
