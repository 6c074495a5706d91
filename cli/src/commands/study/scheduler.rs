//! What the scheduler of a cluster tells a task of an array: which of them it is, and how many cores it has.
//!
//! The variables are Slurm's, as its manual of `sbatch` lists them under output environment variables.

use crate::failure::Failure;
use std::io::Write;
use tractwright::study::journal::Shard;

/// Cores of a task.
const CORES: &str = "SLURM_CPUS_PER_TASK";
/// Number of this task of the array, and of the first, the last, the step between them and how many there are.
const ARRAY: [&str; 5] = [
    "SLURM_ARRAY_TASK_ID",
    "SLURM_ARRAY_TASK_MIN",
    "SLURM_ARRAY_TASK_MAX",
    "SLURM_ARRAY_TASK_STEP",
    "SLURM_ARRAY_TASK_COUNT",
];

/// Reads a variable of the environment; nothing where it is not set.
type Variables<'a> = &'a dyn Fn(&str) -> Option<String>;

/// The share that was asked for, else that of this task, else the whole.
///
/// # Errors
/// The scheduler tells no share that could be right.
pub(super) fn share(asked: Option<Shard>, err: &mut dyn Write) -> Result<Shard, Failure> {
    if let Some(share) = asked {
        return Ok(share);
    }
    let Some(share) = of_array(&of_process)? else { return Ok(Shard::WHOLE) };
    writeln!(err, "share {} of {}, from SLURM_ARRAY_TASK_ID and its like", share.index, share.count)?;
    Ok(share)
}

/// The threads that were asked for, else the cores of this task, else 0 for all there are.
///
/// # Errors
/// The scheduler tells no number of cores.
pub(super) fn threads(asked: usize, err: &mut dyn Write) -> Result<usize, Failure> {
    if asked > 0 {
        return Ok(asked);
    }
    let Some(cores) = cores(&of_process)? else { return Ok(0) };
    writeln!(err, "runs at a time: {cores}, from {CORES}")?;
    Ok(cores)
}

fn of_process(name: &str) -> Option<String> {
    std::env::var_os(name).map(|value| value.to_string_lossy().into_owned())
}

/// The share of this task; nothing where the process is no task of an array. Tasks 3-9:2 are the shares 1 to 4 of 4.
///
/// # Errors
/// Some of the variables are set and others not, or they are no evenly spaced array: a share would be left out in silence.
fn of_array(variables: Variables<'_>) -> Result<Option<Shard>, Failure> {
    if ARRAY.iter().all(|name| variables(name).is_none()) {
        return Ok(None);
    }
    let mut numbers = [0; ARRAY.len()];
    for (number, name) in numbers.iter_mut().zip(ARRAY) {
        *number = whole(variables, name)?.ok_or_else(|| {
            refused(name, "nothing", "a whole number, which every task of an array has; or give --shard")
        })?;
    }
    let [task, first, last, step, count] = numbers;
    let [name, name_of_first, name_of_last, name_of_step, name_of_count] = ARRAY;
    let told = |name: &str, number: usize, expected: String| Err(refused(name, &number.to_string(), &expected));
    if step == 0 {
        return told(name_of_step, step, "1 or more".to_owned());
    }
    if last < first {
        return told(name_of_last, last, format!("{first} or more, {name_of_first}"));
    }
    let expected = (last - first) / step + 1;
    if count != expected {
        let even = format!("{expected}, as {first}-{last}:{step} has; for a part of an array give --shard");
        return told(name_of_count, count, even);
    }
    if task < first || task > last || !(task - first).is_multiple_of(step) {
        return told(name, task, format!("one of {first}-{last}:{step}; or give --shard"));
    }
    Ok(Some(Shard { index: (task - first) / step + 1, count }))
}

/// The cores of this task; nothing where no scheduler says so.
///
/// # Errors
/// The variable is no number above zero.
fn cores(variables: Variables<'_>) -> Result<Option<usize>, Failure> {
    match whole(variables, CORES)? {
        Some(0) => Err(refused(CORES, "0", "1 or more; or give --threads")),
        cores => Ok(cores),
    }
}

fn whole(variables: Variables<'_>, name: &str) -> Result<Option<usize>, Failure> {
    let Some(text) = variables(name) else { return Ok(None) };
    let number = text.parse().map_err(|_| refused(name, &format!("`{text}`"), "a whole number"))?;
    Ok(Some(number))
}

fn refused(name: &str, found: &str, expected: &str) -> Failure {
    Failure::wrong_use(format!("{name} in the environment: found {found}, expected {expected}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn array(task: &str, first: &str, last: &str, step: &str, count: &str) -> Result<Option<Shard>, Failure> {
        let values = [task, first, last, step, count];
        let value = |name: &str| ARRAY.iter().position(|known| *known == name).map(|place| values[place]);
        of_array(&|name| value(name).filter(|value| *value != "-").map(str::to_owned))
    }

    fn share(index: usize, count: usize) -> Option<Shard> {
        Some(Shard { index, count })
    }

    #[test]
    fn every_task_of_an_array_has_a_share_of_its_own() {
        // What Slurm 22.05 sets for `--array=3-9:2`, looked at with `env`.
        for (task, index) in [("3", 1), ("5", 2), ("7", 3), ("9", 4)] {
            assert_eq!(array(task, "3", "9", "2", "4").unwrap(), share(index, 4));
        }
        // `--array=0-31`, and `--array=1-10:4`, which is 1, 5, 9 with a last number of 9 or, as it was asked for, 10.
        assert_eq!(array("0", "0", "31", "1", "32").unwrap(), share(1, 32));
        assert_eq!(array("31", "0", "31", "1", "32").unwrap(), share(32, 32));
        for last in ["9", "10"] {
            assert_eq!(array("9", "1", last, "4", "3").unwrap(), share(3, 3));
        }
        assert_eq!(array("5", "5", "5", "1", "1").unwrap(), share(1, 1));
        assert_eq!(array("-", "-", "-", "-", "-").unwrap(), None);
    }

    #[test]
    fn what_is_no_even_array_is_refused_and_the_variable_named() {
        for (values, named, expected) in [
            (["-", "1", "4", "1", "4"], "SLURM_ARRAY_TASK_ID", "found nothing"),
            (["1", "1", "4", "1", "-"], "SLURM_ARRAY_TASK_COUNT", "found nothing"),
            (["one", "1", "4", "1", "4"], "SLURM_ARRAY_TASK_ID", "found `one`"),
            (["1", "-1", "4", "1", "4"], "SLURM_ARRAY_TASK_MIN", "found `-1`"),
            (["1", "1", "4", "0", "4"], "SLURM_ARRAY_TASK_STEP", "found 0"),
            (["4", "4", "1", "1", "4"], "SLURM_ARRAY_TASK_MAX", "expected 4 or more"),
            (["5", "1", "4", "1", "4"], "SLURM_ARRAY_TASK_ID", "expected one of 1-4:1"),
            (["4", "3", "9", "2", "4"], "SLURM_ARRAY_TASK_ID", "expected one of 3-9:2"),
            // `--array=2,5`: two tasks done again, which are not shares 1 and 2 of 2.
            (["2", "2", "5", "1", "2"], "SLURM_ARRAY_TASK_COUNT", "expected 4"),
        ] {
            let [task, first, last, step, count] = values;
            let told = array(task, first, last, step, count).unwrap_err();
            let text = told.to_string();
            assert_eq!(told.code(), crate::exit::WRONG_USE);
            assert!(text.contains(&format!("{named} in the environment")) && text.contains(expected), "{text}");
        }
    }

    #[test]
    fn the_cores_of_a_task_are_its_threads() {
        let with = |value: Option<&str>| cores(&|name| value.filter(|_| name == CORES).map(str::to_owned));
        assert_eq!(with(None).unwrap(), None);
        assert_eq!(with(Some("4")).unwrap(), Some(4));
        for wrong in ["0", "", "four", "4.5"] {
            let text = with(Some(wrong)).unwrap_err().to_string();
            assert!(text.contains(CORES), "{text}");
        }
    }
}
