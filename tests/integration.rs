//! Tests that need the whole workspace.

/// Mouths out of a bay whose air is stored.
mod bay_mouths;
/// Every case reads, builds and marches; so does every case in a document.
mod cases;
/// What a user meets at the command line: exit codes, messages, signals.
mod command_line;
/// The same bits for any number of threads, and memory that does not grow with simulated time.
mod determinism;
/// What stands in the documents is what the program prints.
mod documents;
/// Engines that drive a tract: interrupted runs, and a march with waves from their steady state.
mod engine;
/// A module of the library uses only those above it.
mod layering;
/// Logs of the car: read, doubted, laid over results.
mod measured;
/// Pages and pictures in a browser: whole, readable, without a fault, and they answer.
mod pages;
/// Points with phases: through the program, and back from a saved state.
mod phases;
/// What holds for any network and any state.
mod properties;
/// Other programs read the results.
mod python;
/// A run that was killed or interrupted goes on to an identical result.
mod resume;
/// Studies: one table whoever did the runs, changed inputs, searches, other programs.
mod study_answers;
/// A study that is disturbed goes on, and loses nothing that was written.
mod study_faults;
/// What the modules share: folders, the program, a small case.
mod support;
