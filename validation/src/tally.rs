//! What becomes of checks and rows, and how many there are of each.

use crate::check::{Outcome, Row};

/// What becomes of a row or a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It was judged and holds.
    Holds,
    /// It was judged and does not hold, or could not be.
    DoesNotHold,
    /// It judges nothing.
    Informs,
}

impl Verdict {
    /// One word for tables, two where it must be seen.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::DoesNotHold => "DOES NOT HOLD",
            Self::Informs => "informs",
        }
    }

    /// Of a whole from its parts. Where nothing was compared, nothing holds.
    #[must_use]
    pub fn of(parts: impl IntoIterator<Item = Self>) -> Self {
        let worse = |one, other| match (one, other) {
            (Self::DoesNotHold, _) | (_, Self::DoesNotHold) => Self::DoesNotHold,
            (Self::Holds, _) | (_, Self::Holds) => Self::Holds,
            (Self::Informs, Self::Informs) => Self::Informs,
        };
        parts.into_iter().reduce(worse).unwrap_or(Self::DoesNotHold)
    }
}

/// How many of a kind hold, of how many that were judged, and how many more only inform.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Count {
    /// Those that hold.
    pub held: usize,
    /// Those that were judged.
    pub judged: usize,
    /// Those that only inform.
    pub informing: usize,
}

impl FromIterator<Verdict> for Count {
    fn from_iter<I: IntoIterator<Item = Verdict>>(verdicts: I) -> Self {
        let mut count = Self::default();
        for verdict in verdicts {
            count.held += usize::from(verdict == Verdict::Holds);
            count.judged += usize::from(verdict != Verdict::Informs);
            count.informing += usize::from(verdict == Verdict::Informs);
        }
        count
    }
}

/// How many checks hold, and how many of their rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Checks.
    pub checks: Count,
    /// Rows.
    pub rows: Count,
}

impl Tally {
    /// Of some outcomes.
    pub fn of<'a>(outcomes: impl IntoIterator<Item = &'a Outcome>) -> Self {
        Self::of_verdicts(
            outcomes.into_iter().map(|outcome| (outcome.verdict(), outcome.rows().iter().map(Row::verdict))),
        )
    }

    /// Of the verdicts on some checks, each with those on its rows.
    pub fn of_verdicts<R: IntoIterator<Item = Verdict>>(checks: impl IntoIterator<Item = (Verdict, R)>) -> Self {
        let (checks, rows): (Vec<_>, Vec<_>) = checks.into_iter().unzip();
        Self { checks: checks.into_iter().collect(), rows: rows.into_iter().flatten().collect() }
    }

    /// Two lines, of the checks and of the rows.
    #[must_use]
    pub fn lines(&self) -> [String; 2] {
        let line = |count: Count, kind: &str| {
            let informing = match count.informing {
                0 => String::new(),
                1 => ", 1 more only informs".to_owned(),
                more => format!(", {more} more only inform"),
            };
            format!("{} of {} {kind} hold{informing}", count.held, count.judged)
        };
        [line(self.checks, "checks"), line(self.rows, "rows")]
    }
}

#[cfg(test)]
mod tests {
    use super::Verdict::{DoesNotHold, Holds, Informs};
    use super::*;

    #[test]
    fn a_whole_holds_when_what_is_judged_holds() {
        assert_eq!(Verdict::of([Holds, Informs]), Holds);
        assert_eq!(Verdict::of([Informs, Informs]), Informs);
        assert_eq!(Verdict::of([Informs, DoesNotHold, Holds]), DoesNotHold);
        assert_eq!(Verdict::of([]), DoesNotHold);
    }

    #[test]
    fn what_informs_is_counted_apart() {
        let checks = [(Holds, vec![Holds, Informs]), (DoesNotHold, vec![]), (Informs, vec![Informs, Informs])];
        let lines = Tally::of_verdicts(checks).lines();
        assert_eq!(lines, ["1 of 2 checks hold, 1 more only informs", "1 of 1 rows hold, 3 more only inform"]);
    }
}
