//! Exit codes.

/// Done.
pub const DONE: u8 = 0;
/// The physics stopped a run.
pub const STOPPED: u8 = 1;
/// The command line was used wrongly.
pub const WRONG_USE: u8 = 2;
/// A case or study is invalid.
pub const INVALID_CASE: u8 = 3;
/// A check did not hold.
pub const DID_NOT_HOLD: u8 = 4;
/// Some runs of a study failed.
pub const SOME_FAILED: u8 = 5;
/// Files or disk.
pub const FILES: u8 = 74;
/// Interrupted; the state of the runs is saved.
pub const INTERRUPTED: u8 = 130;

/// The codes, as `--help` lists them.
pub(crate) const HELP: &str = "\
Exit codes:
    0  done
    1  the physics stopped a run
    2  wrong use of the command line
    3  a case or study is invalid
    4  a check did not hold
    5  some runs of a study failed
   74  files or disk
  130  interrupted, state saved

Results go to the standard output, all else to the standard error.";
