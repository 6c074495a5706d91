//! The saved state of a march: everything it takes to go on as if nothing had happened.
//!
//! Two files are kept in turn, so that a kill while one is written leaves the other. Each holds the whole text of its case rather than
//! a hash of it: exact, and a few kilobytes against a state of many.

use super::codec::{Decoder, Encoder};
use super::{Mark, beside, failure, publish_bytes};
use crate::error::OutputError;
use std::path::{Path, PathBuf};

/// First bytes of a checkpoint; the odd ones show a transfer that altered line ends or the eighth bit.
const SIGNATURE: &[u8] = b"\x89tractwright checkpoint\r\n\x1a\n";
/// Version of the format, raised with every change.
const VERSION: u64 = 1;
/// Ends of the two names.
const SUFFIXES: [&str; 2] = ["checkpoint-a", "checkpoint-b"];

/// State of a march at one time. The record does not know what the numbers mean; bits are kept as they are.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Checkpoint {
    /// Simulated time [s].
    pub time: f64,
    /// Steps taken.
    pub step: u64,
    /// How far the result was.
    pub recorded: Mark,
    /// Numbers by name: the flat state, the joints' flows, accumulators, the settled window.
    pub blocks: Vec<(String, Vec<f64>)>,
    /// Counters by name.
    pub counters: Vec<(String, u64)>,
}

/// Whose state it is. A checkpoint is used only where all three are the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Identity {
    /// Program and version.
    pub program: String,
    /// The whole resolved case, as text.
    pub case: String,
    /// Name of the operating point.
    pub point: String,
}

/// The two checkpoints of a result: `<name>.checkpoint-a` and `-b`.
///
/// Only for who holds the [`Lock`](super::Lock) of the result.
#[derive(Debug)]
pub struct CheckpointPair {
    paths: [PathBuf; 2],
    identity: Identity,
    /// Number of the checkpoint that is saved next.
    sequence: u64,
}

/// A checkpoint as it stands in a file.
#[derive(Debug)]
struct Saved {
    identity: Identity,
    sequence: u64,
    checkpoint: Checkpoint,
}

impl CheckpointPair {
    /// The pair that belongs to the result `path`. Touches no file.
    #[must_use]
    pub fn new(path: &Path, identity: Identity) -> Self {
        Self { paths: SUFFIXES.map(|suffix| beside(path, suffix)), identity, sequence: 0 }
    }

    /// Saves a state in place of the older one of the two. The older of the two stays whole until the new one is on the disk.
    ///
    /// # Errors
    /// [`OutputError::File`] when the disk is full or refuses; both older checkpoints are then as they were.
    pub fn save(&mut self, checkpoint: &Checkpoint) -> Result<(), OutputError> {
        let bytes = encode(&self.identity, self.sequence, checkpoint);
        publish_bytes(&self.paths[usize::from(self.sequence % 2 == 1)], &bytes)?;
        self.sequence += 1;
        Ok(())
    }

    /// The newer one of the two that can be used; `None` when there is no checkpoint at all. Saving goes on behind it.
    ///
    /// # Errors
    /// [`OutputError::Content`] with the reason when there are checkpoints and none can be used: damaged, or of another case, point or
    /// program. [`OutputError::File`] when one cannot be read.
    pub fn load(&mut self) -> Result<Option<Checkpoint>, OutputError> {
        let mut newest: Option<Saved> = None;
        let mut refusal = None;
        for path in &self.paths {
            match self.read(path) {
                Ok(Some(saved)) if newest.as_ref().is_none_or(|other| saved.sequence > other.sequence) => {
                    newest = Some(saved);
                }
                Ok(_) => {}
                Err(error) => refusal = refusal.or(Some(error)),
            }
        }
        match (newest, refusal) {
            (Some(saved), _) => {
                self.sequence = saved.sequence + 1;
                Ok(Some(saved.checkpoint))
            }
            (None, Some(refusal)) => Err(refusal),
            (None, None) => Ok(None),
        }
    }

    /// Removes both, when the run is finished or starts anew.
    ///
    /// # Errors
    /// [`OutputError::File`] when one stands and cannot be removed.
    pub fn discard(&mut self) -> Result<(), OutputError> {
        for path in &self.paths {
            match std::fs::remove_file(path) {
                Err(source) if source.kind() != std::io::ErrorKind::NotFound => {
                    return Err(failure::file(path)(source));
                }
                _ => {}
            }
        }
        self.sequence = 0;
        Ok(())
    }

    fn read(&self, path: &Path) -> Result<Option<Saved>, OutputError> {
        let bytes = match std::fs::read(path) {
            Ok(bytes) => bytes,
            Err(source) if source.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(source) => return Err(failure::file(path)(source)),
        };
        let saved = decode(&bytes).map_err(|found| failure::content(path, found, "a whole checkpoint"))?;
        let (found, expected) = (&saved.identity, &self.identity);
        if found.program != expected.program {
            return Err(failure::content(
                path,
                format!("a checkpoint of {}", found.program),
                expected.program.as_str(),
            ));
        }
        if found.point != expected.point {
            return Err(failure::content(
                path,
                format!("a checkpoint of point `{}`", found.point),
                format!("`{}`", expected.point),
            ));
        }
        if found.case != expected.case {
            let found = format!("a checkpoint of another case ({})", first_difference(&found.case, &expected.case));
            return Err(failure::content(path, found, "the case as it is now"));
        }
        Ok(Some(saved))
    }
}

fn encode(identity: &Identity, sequence: u64, checkpoint: &Checkpoint) -> Vec<u8> {
    let mut encoder = Encoder::default();
    encoder.raw(SIGNATURE);
    encoder.whole(VERSION);
    encoder.text(&identity.program);
    encoder.text(&identity.case);
    encoder.text(&identity.point);
    encoder.whole(sequence);
    encoder.number(checkpoint.time);
    encoder.whole(checkpoint.step);
    encoder.whole(checkpoint.recorded.rows);
    encoder.numbers(&checkpoint.recorded.waiting);
    encoder.whole(checkpoint.blocks.len() as u64);
    for (name, values) in &checkpoint.blocks {
        encoder.text(name);
        encoder.numbers(values);
    }
    encoder.whole(checkpoint.counters.len() as u64);
    for (name, value) in &checkpoint.counters {
        encoder.text(name);
        encoder.whole(*value);
    }
    encoder.finish()
}

/// Reads a checkpoint, or says what the bytes are instead.
fn decode(bytes: &[u8]) -> Result<Saved, String> {
    let torn = || format!("damaged or cut off at {} bytes", bytes.len());
    if !bytes.starts_with(SIGNATURE) {
        return Err("a file that is no checkpoint".into());
    }
    let mut decoder = Decoder::new(bytes).ok_or_else(torn)?;
    decoder.raw(SIGNATURE.len()).ok_or_else(torn)?;
    match decoder.whole().ok_or_else(torn)? {
        VERSION => {}
        other => return Err(format!("checkpoint format {other} where this program has {VERSION}")),
    }
    let saved = decode_body(&mut decoder).ok_or_else(torn)?;
    if decoder.is_empty() { Ok(saved) } else { Err("more bytes than a checkpoint has".into()) }
}

fn decode_body(decoder: &mut Decoder<'_>) -> Option<Saved> {
    let identity = Identity { program: decoder.text()?, case: decoder.text()?, point: decoder.text()? };
    let sequence = decoder.whole()?;
    let checkpoint = Checkpoint {
        time: decoder.number()?,
        step: decoder.whole()?,
        recorded: Mark { rows: decoder.whole()?, waiting: decoder.numbers()? },
        blocks: named(decoder, Decoder::numbers)?,
        counters: named(decoder, Decoder::whole)?,
    };
    Some(Saved { identity, sequence, checkpoint })
}

fn named<'a, T>(decoder: &mut Decoder<'a>, value: fn(&mut Decoder<'a>) -> Option<T>) -> Option<Vec<(String, T)>> {
    // A name has its length before it, a value too or is a number: 16 bytes at least.
    let count = decoder.length(16)?;
    (0..count).map(|_| Some((decoder.text()?, value(decoder)?))).collect()
}

/// The first line that differs, for the engineer who changed it.
fn first_difference(old: &str, new: &str) -> String {
    let (mut old_lines, mut new_lines) = (old.lines(), new.lines());
    for line in 1.. {
        match (old_lines.next(), new_lines.next()) {
            (None, None) => break,
            (old, new) if old == new => {}
            (old, new) => {
                let show = |text: Option<&str>| text.map_or("nothing".to_owned(), |text| format!("`{}`", text.trim()));
                return format!("line {line} was {} and is {}", show(old), show(new));
            }
        }
    }
    "line ends differ".into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::collection::vec;
    use proptest::prelude::*;

    fn identity() -> Identity {
        Identity { program: "tractwright 0.1.0".into(), case: "title: box\nparts: {}\n".into(), point: "road".into() }
    }

    fn sample(step: u64) -> Checkpoint {
        Checkpoint {
            time: 0.25,
            step,
            recorded: Mark { rows: 250, waiting: vec![0.25, 1e5] },
            blocks: vec![("heat by root".into(), vec![1.2, -0.0, f64::MIN_POSITIVE / 3.0]), (String::new(), vec![])],
            counters: vec![("steps taken again".into(), u64::MAX)],
        }
    }

    fn bits(values: &[f64]) -> Vec<u64> {
        values.iter().map(|value| value.to_bits()).collect()
    }

    /// Any bit pattern: a state may hold NaN, and its sign is kept too.
    fn any_numbers() -> impl Strategy<Value = Vec<f64>> {
        vec(any::<u64>().prop_map(f64::from_bits), 0..20)
    }

    proptest! {
        #[test]
        fn every_bit_comes_back(
            (time, step, rows) in any::<(u64, u64, u64)>(),
            waiting in any_numbers(),
            blocks in vec((".*", any_numbers()), 0..4),
            counters in vec((".*", any::<u64>()), 0..4),
            (program, case, point) in any::<(String, String, String)>(),
            sequence in any::<u64>(),
        ) {
            let identity = Identity { program, case, point };
            let time = f64::from_bits(time);
            let recorded = Mark { rows, waiting };
            let checkpoint = Checkpoint { time, step, recorded, blocks, counters };
            let saved = decode(&encode(&identity, sequence, &checkpoint)).unwrap();
            prop_assert_eq!(&saved.identity, &identity);
            prop_assert_eq!(saved.sequence, sequence);
            // Two states are the same if they are written the same; `==` would trip over NaN.
            prop_assert_eq!(saved.checkpoint.blocks.len(), checkpoint.blocks.len());
            for (back, block) in saved.checkpoint.blocks.iter().zip(&checkpoint.blocks) {
                prop_assert_eq!((&back.0, bits(&back.1)), (&block.0, bits(&block.1)));
            }
            prop_assert_eq!(&saved.checkpoint.counters, &checkpoint.counters);
            prop_assert_eq!(encode(&identity, sequence, &saved.checkpoint), encode(&identity, sequence, &checkpoint));
        }

        #[test]
        fn foreign_bytes_are_refused(bytes in vec(any::<u8>(), 0..200)) {
            prop_assert!(decode(&bytes).is_err());
            prop_assert!(decode(&[SIGNATURE, &bytes].concat()).is_err());
        }

        #[test]
        fn foreign_bytes_with_a_true_checksum_never_exhaust_memory(bytes in vec(any::<u8>(), 0..200)) {
            let mut encoder = Encoder::default();
            [SIGNATURE, &VERSION.to_le_bytes(), &bytes].iter().for_each(|part| encoder.raw(part));
            let _ = decode(&encoder.finish());
        }
    }

    #[test]
    fn every_truncation_is_refused() {
        let bytes = encode(&identity(), 3, &sample(7));
        for length in 0..bytes.len() {
            assert!(decode(&bytes[..length]).is_err(), "cut at {length} of {}", bytes.len());
        }
    }

    #[test]
    fn every_flipped_bit_is_refused() {
        let bytes = encode(&identity(), 3, &sample(7));
        for place in 0..bytes.len() * 8 {
            let mut flipped = bytes.clone();
            flipped[place / 8] ^= 1 << (place % 8);
            assert!(decode(&flipped).is_err(), "bit {place} of {}", bytes.len() * 8);
        }
    }

    fn pair(folder: &Path) -> CheckpointPair {
        CheckpointPair::new(&folder.join("run.h5"), identity())
    }

    #[test]
    fn the_newer_one_wins_and_saving_goes_on_behind_it() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(pair(folder.path()).load().unwrap(), None);
        for step in 0..5_u64 {
            let mut fresh = pair(folder.path());
            assert_eq!(fresh.load().unwrap().map(|checkpoint| checkpoint.step), step.checked_sub(1));
            fresh.save(&sample(step)).unwrap();
        }
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
        pair(folder.path()).discard().unwrap();
        assert_eq!(pair(folder.path()).load().unwrap(), None);
    }

    #[test]
    fn the_older_one_steps_in_for_a_damaged_newer_one() {
        let folder = tempfile::tempdir().unwrap();
        let mut writing = pair(folder.path());
        [1, 2].iter().for_each(|&step| writing.save(&sample(step)).unwrap());
        let newer = &writing.paths[1];
        let mut bytes = std::fs::read(newer).unwrap();
        bytes.truncate(bytes.len() - 1);
        std::fs::write(newer, bytes).unwrap();
        assert_eq!(pair(folder.path()).load().unwrap(), Some(sample(1)));
        std::fs::write(&writing.paths[0], "not ours").unwrap();
        let text = pair(folder.path()).load().unwrap_err().to_string();
        assert!(text.contains("checkpoint-a") && text.contains("no checkpoint"), "{text}");
    }

    #[test]
    fn a_checkpoint_of_something_else_is_refused_with_the_reason() {
        let folder = tempfile::tempdir().unwrap();
        pair(folder.path()).save(&sample(1)).unwrap();
        let refusal =
            |identity| CheckpointPair::new(&folder.path().join("run.h5"), identity).load().unwrap_err().to_string();
        let text = refusal(Identity { program: "tractwright 0.2.0".into(), ..identity() });
        assert!(text.contains("0.1.0") && text.contains("0.2.0"), "{text}");
        let text = refusal(Identity { case: "title: box\nparts: {a}\n".into(), ..identity() });
        assert!(text.contains("line 2 was `parts: {}` and is `parts: {a}`"), "{text}");
        let text = refusal(Identity { point: "dyno".into(), ..identity() });
        assert!(text.contains("`road`") && text.contains("`dyno`"), "{text}");
    }

    #[test]
    fn another_format_says_which() {
        let mut bytes = encode(&identity(), 0, &sample(1));
        bytes.truncate(bytes.len() - 4);
        bytes[SIGNATURE.len()] = 9;
        let mut encoder = Encoder::default();
        encoder.raw(&bytes);
        assert!(decode(&encoder.finish()).unwrap_err().contains("format 9"));
    }
}
