//! `start`: a case to begin from.

use crate::failure::Failure;
use crate::{Streams, exit};

/// The case.
const CASE: &str = include_str!("start.yaml");

/// Prints a small commented case to begin from
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:
  tractwright start > first.yaml")]
pub(crate) struct Start;

impl Start {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        write!(streams.out, "{CASE}")?;
        Ok(exit::DONE)
    }
}

#[cfg(test)]
mod tests {
    use tractwright::case::Case;

    #[test]
    fn the_case_to_begin_from_builds_at_every_point() {
        let case = Case::from_text("first.yaml", super::CASE).unwrap();
        assert_eq!(case.points.len(), 2);
        for point in &case.points {
            assert_eq!(case.build(&point.name).unwrap().network.draws().len(), 2);
        }
    }
}
