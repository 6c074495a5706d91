use super::*;
use crate::study::plan::Id;
use proptest::prelude::*;
use std::sync::{Arc, Mutex};

fn entry(number: usize) -> Entry {
    Entry {
        id: Id::of([number.to_string().as_str()]),
        layout: "sealed".into(),
        point: "road".into(),
        inputs: vec![("tube".into(), 62.0 + number as f64 / 3.0)],
        draw: None,
        ended: Ended::Done { figures: vec![("power".into(), 4.4e5 / 3.0 * number as f64)], note: String::new() },
    }
}

/// A store that fails at its call of one number, and tears the line that it then writes.
#[derive(Debug)]
struct Failing {
    bytes: Arc<Mutex<Vec<u8>>>,
    calls: usize,
    fails_at: usize,
}

impl Failing {
    fn call(&mut self) -> io::Result<()> {
        self.calls += 1;
        if self.calls == self.fails_at { Err(io::Error::from_raw_os_error(28)) } else { Ok(()) }
    }
}

impl Store for Failing {
    fn cut_to_whole_lines(&mut self) -> io::Result<u64> {
        self.call()?;
        let mut bytes = self.bytes.lock().unwrap();
        let end = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |place| place + 1);
        bytes.truncate(end);
        Ok(end as u64)
    }

    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let answer = self.call();
        let written = if answer.is_ok() { bytes } else { &bytes[..bytes.len() / 2] };
        self.bytes.lock().unwrap().extend_from_slice(written);
        answer
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.call()?;
        self.bytes.lock().unwrap().truncate(length as usize);
        Ok(())
    }

    fn synchronise(&mut self) -> io::Result<()> {
        self.call()
    }
}

#[test]
fn whichever_call_fails_what_was_taken_is_there_and_the_rest_goes_on() {
    const RUNS: usize = 6;
    for fails_at in 1..=20 {
        let bytes = Arc::new(Mutex::new(Vec::new()));
        let open = |fails_at: usize| {
            let store = Failing { bytes: Arc::clone(&bytes), calls: 0, fails_at };
            Journal::on(PathBuf::from("runs.journal"), Box::new(store), None)
        };
        let mut taken = 0;
        if let Ok(mut journal) = open(fails_at) {
            while taken < RUNS && journal.add(&entry(taken)).is_ok() && journal.synchronise().is_ok() {
                taken += 1;
            }
            if taken < RUNS {
                assert!(journal.add(&entry(taken)).is_err(), "a journal that failed takes no more");
            }
        }
        let mut records = Records::default();
        records.take(&mut bytes.lock().unwrap().as_slice()).unwrap();
        assert!(records.ids().count() >= taken, "call {fails_at}: what was announced is lost");
        // The same again, undisturbed: it goes on with what is missing, and ends as if nothing had happened.
        let mut journal = open(usize::MAX).unwrap();
        let missing: Vec<usize> = (0..RUNS).filter(|run| records.get(entry(*run).id).is_none()).collect();
        missing.iter().for_each(|run| journal.add(&entry(*run)).unwrap());
        let mut ended = Records::default();
        assert_eq!(
            ended.take(&mut bytes.lock().unwrap().as_slice()).unwrap(),
            0,
            "call {fails_at}: no torn line stays in the middle"
        );
        assert_eq!(ended.ids().count(), RUNS);
        (0..RUNS).for_each(|run| assert_eq!(ended.get(entry(run).id), Some(entry(run))));
    }
}

#[test]
fn a_torn_end_is_cut_off_and_its_run_done_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut journal = Journal::open(folder.path(), Shard::WHOLE).unwrap();
    (0..3).for_each(|run| journal.add(&entry(run)).unwrap());
    let path = journal.path.clone();
    drop(journal);
    let whole = fs::read(&path).unwrap();
    for length in 0..whole.len() {
        fs::write(&path, &whole[..length]).unwrap();
        let records = Records::read(folder.path()).unwrap();
        let lines = whole[..length].iter().filter(|byte| **byte == b'\n').count();
        assert!((lines..=lines + 1).contains(&records.ids().count()), "{length}");
        drop(Journal::open(folder.path(), Shard::WHOLE).unwrap());
        assert_eq!(Records::read(folder.path()).unwrap().ids().count(), lines, "{length}");
    }
}

#[test]
fn a_flipped_bit_costs_its_run_and_no_other_and_gives_no_other_value() {
    let folder = tempfile::tempdir().unwrap();
    let mut journal = Journal::open(folder.path(), Shard::WHOLE).unwrap();
    (0..3).for_each(|run| journal.add(&entry(run)).unwrap());
    let path = journal.path.clone();
    drop(journal);
    let whole = fs::read(&path).unwrap();
    for bit in 0..8 * whole.len() {
        let mut bytes = whole.clone();
        bytes[bit / 8] ^= 1 << (bit % 8);
        fs::write(&path, &bytes).unwrap();
        let records = Records::read(folder.path()).unwrap();
        // A flipped end of a line joins two lines, so that it may cost two.
        assert!((1..=3).contains(&records.ids().count()), "bit {bit}");
        for run in 0..3 {
            if let Some(found) = records.get(entry(run).id) {
                assert_eq!(found, entry(run), "bit {bit}");
            }
        }
    }
}

#[test]
fn a_second_process_of_the_same_share_is_refused_and_another_share_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let first = Journal::open(folder.path(), Shard { index: 1, count: 2 }).unwrap();
    let text = Journal::open(folder.path(), Shard { index: 1, count: 2 }).unwrap_err().to_string();
    assert!(text.contains(&std::process::id().to_string()), "{text}");
    drop(Journal::open(folder.path(), Shard { index: 2, count: 2 }).unwrap());
    drop(first);
}

#[test]
fn who_would_do_the_same_runs_is_refused_and_told_who_does_them() {
    let folder = tempfile::tempdir().unwrap();
    let (half, third) = (Shard { index: 2, count: 2 }, Shard { index: 1, count: 3 });
    for first in [Shard::WHOLE, half, third] {
        let held = Journal::open(folder.path(), first).unwrap();
        for second in [Shard::WHOLE, half, third].into_iter().filter(|second| *second != first) {
            let text = Journal::open(folder.path(), second).unwrap_err().to_string();
            let named = [format!("process {}", std::process::id()), first.journal()];
            assert!(named.iter().all(|name| text.contains(name)), "{text}");
        }
        drop(held);
    }
    // What a process that was killed leaves behind stands in nobody's way.
    fs::write(folder.path().join("runs.1-of-3.journal.lock"), "4194304 0\n").unwrap();
    drop(Journal::open(folder.path(), Shard::WHOLE).unwrap());
}

#[test]
fn a_run_that_failed_and_was_done_again_is_done() {
    let folder = tempfile::tempdir().unwrap();
    let failed = Entry { ended: Ended::Failed("no steady state".to_owned()), ..entry(1) };
    for (shard, entries) in [(1, [&failed, &entry(1)]), (2, [&entry(2), &failed])] {
        let mut journal = Journal::open(folder.path(), Shard { index: shard, count: 2 }).unwrap();
        entries.iter().for_each(|entry| journal.add(entry).unwrap());
    }
    let mut records = Records::read(folder.path()).unwrap();
    assert_eq!(records.get(entry(1).id), Some(entry(1)));
    assert_eq!(records.ids().count(), 2);
    // One that only failed is forgotten when it is to be done again.
    let failed = Entry { id: Id::of(["3"]), ..failed };
    records.insert(failed.clone());
    assert_eq!(records.get(failed.id), Some(failed.clone()));
    records.forget_failed();
    assert_eq!((records.get(failed.id), records.ids().count()), (None, 2));
}

proptest! {
    #[test]
    fn every_number_and_text_comes_back(
        value in any::<f64>().prop_filter("finite", |value| value.is_finite()),
        layout in "\\PC*",
        why in "\\PC*",
    ) {
        let done = Ended::Done { figures: vec![("power".into(), value), ("torque".into(), -value)], note: why.clone() };
        for ended in [done, Ended::Failed(why)] {
            let entry = Entry { layout: layout.as_str().into(), ended, inputs: vec![("x".into(), value)], ..entry(0) };
            let text = line::write(&entry);
            prop_assert_eq!(text.matches('\n').count(), 1);
            prop_assert_eq!(line::read(text.trim_end_matches('\n').as_bytes(), &mut line::Names::default()), Some(entry));
        }
    }
}
