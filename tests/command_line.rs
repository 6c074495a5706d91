use crate::support::{call, code, peak_memory, said, signal, small_case, start, write};
use std::time::Duration;
use tractwright::record::{Attribute, ResultFile};

#[test]
fn exit_codes_say_what_went_wrong() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    write(folder, "good.yaml", &small_case(0.01));
    write(folder, "bad.yaml", "parts: {box: {kind: plenum, volum: 3 L}}\nflow: [[box, tub]]\n");
    assert_eq!(code(&call(folder, &["run", "good.yaml", "--point", "road"])), 0);
    assert_eq!(code(&call(folder, &["run", "--no-such-option"])), 2);
    let bad = call(folder, &["check", "bad.yaml"]);
    assert_eq!(code(&bad), 3);
    let text = said(&bad);
    assert!(
        text.contains("bad.yaml:1:29") && text.contains("volum") && text.contains("did you mean `volume`"),
        "{text}"
    );
    assert_eq!(code(&call(folder, &["run", "good.yaml", "--point", "road"])), 74, "a finished result is not replaced");
    assert_eq!(code(&call(folder, &["summary", "missing.h5"])), 74);
    write(folder, "foreign.h5", "this is no result");
    assert_eq!(code(&call(folder, &["summary", "foreign.h5"])), 74);
    // Gas that no equation holds for: the physics stops the run, and says where.
    let frozen = small_case(0.01).replace("run:", "initial: [{part: snout, temperature: 1e-306 K}]\nrun:");
    write(folder, "frozen.yaml", &frozen);
    let stopped = call(folder, &["run", "frozen.yaml", "--point", "road"]);
    assert_eq!(code(&stopped), 1);
    assert!(said(&stopped).contains("part `snout`, cell 0"), "{}", said(&stopped));
}

#[test]
fn a_folder_that_cannot_be_made_is_told_before_the_first_step() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    // Longer than anyone would wait: the refusal comes before the march.
    write(folder, "long.yaml", &small_case(5000.0));
    write(folder, "taken", "a file where a folder is wanted");
    for wanted in ["taken", "taken/inside"] {
        let refused = call(folder, &["run", "long.yaml", "-o", wanted]);
        assert_eq!(code(&refused), 74, "{wanted}");
        assert!(said(&refused).contains(&format!("error: {wanted}: ")), "{}", said(&refused));
    }
}

#[test]
fn the_start_case_runs() {
    let folder = tempfile::tempdir().expect("a folder");
    let printed = call(folder.path(), &["start"]);
    write(
        folder.path(),
        "first.yaml",
        &String::from_utf8_lossy(&printed.stdout).replace("until: 0.3 s", "until: 10 ms"),
    );
    let run = call(folder.path(), &["run", "first.yaml", "--point", "road"]);
    assert_eq!(code(&run), 0, "{}", said(&run));
    let summary = call(folder.path(), &["summary", "first.road.h5"]);
    let text = String::from_utf8_lossy(&summary.stdout).into_owned();
    assert!(text.contains("recovery p02/p00") && text.lines().all(|line| line.chars().count() <= 100), "{text}");
}

#[test]
fn a_hostile_case_is_refused_with_bounded_memory() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let levels = "abcdefghi".chars().zip("bcdefghij".chars());
    let bomb = levels.fold("a: &a [x, x, x, x, x, x, x, x, x]\n".to_owned(), |text, (from, to)| {
        format!("{text}{to}: &{to} [*{from}, *{from}, *{from}, *{from}, *{from}, *{from}, *{from}, *{from}, *{from}]\n")
    });
    write(folder, "bomb.yaml", &bomb);
    write(folder, "large.yaml", &format!("parts: {{}}\n{}", "# filling\n".repeat(10_000_000)));
    write(
        folder,
        "numbers.yaml",
        "parts: {a: {kind: plenum, volume: .nan}, b: {kind: plenum, volume: 1e400 L}, c: {kind: plenum, volume: -1 L}}\nflow: [[a, b]]\n",
    );
    write(folder, "point.yaml", &small_case(0.01).replace("road: {", "../../road: {"));
    write(folder, "part.yaml", &small_case(0.01).replace("snout", "../../snout"));
    for name in ["bomb.yaml", "large.yaml", "numbers.yaml", "point.yaml", "part.yaml"] {
        let mut child = start(folder, &["run", name]);
        let mut peak = 0;
        let status = loop {
            peak = peak.max(peak_memory(&child).unwrap_or(0));
            if let Some(status) = child.try_wait().expect("a child") {
                break status;
            }
            std::thread::sleep(Duration::from_millis(1));
        };
        assert_eq!(status.code(), Some(3), "{name}");
        // A small case takes 15 MiB, the large file would take a hundred more.
        assert!(peak < 60_000, "{name}: {peak} KiB");
    }
    let mut left = std::fs::read_dir(folder).expect("a folder").flatten().map(|entry| entry.path());
    assert!(left.all(|path| path.extension().is_some_and(|end| end == "yaml")), "nothing is written");
}

#[test]
fn signals_save_the_state_and_say_how_to_go_on() {
    for name in ["INT", "TERM"] {
        let folder = tempfile::tempdir().expect("a folder");
        write(folder.path(), "long.yaml", &small_case(50.0));
        let mut child = start(folder.path(), &["run", "long.yaml", "--point", "road"]);
        while !folder.path().join("long.road.h5.part").exists() {
            std::thread::sleep(Duration::from_millis(5));
        }
        std::thread::sleep(Duration::from_millis(200));
        signal(&child, name);
        let status = child.wait().expect("a child");
        assert_eq!(status.code(), Some(130), "{name}");
        let saved = std::fs::read_dir(folder.path()).expect("a folder").flatten();
        assert!(saved.filter(|entry| entry.file_name().to_string_lossy().contains("checkpoint")).count() > 0, "{name}");
    }
}

#[test]
fn a_run_that_the_physics_stops_keeps_its_last_good_state() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    // An inflow that no number can hold begins at 5 ms.
    let text = |predictor: &str| {
        format!(
            "
parts:
  box: {{kind: plenum, volume: 1 L}}
  tube: {{kind: duct, length: 200 mm, diameter: 50 mm}}
  end: {{kind: wall}}
  burst: {{kind: inflow, flow: 1e305 kg/s, temperature: 20 degC, table: {{time: 0 5 6 ms, factor: [0, 0, 1]}}}}
flow: [[burst, box], [box, tube, end]]
run: {{until: 20 ms, record_every: 1 ms, predictor: {predictor}}}
"
        )
    };
    for predictor in ["none", "hancock"] {
        let name = format!("{predictor}.yaml");
        write(folder, &name, &text(predictor));
        let stopped = call(folder, &["run", &name]);
        assert_eq!(code(&stopped), 1, "{}", said(&stopped));
        assert!(said(&stopped).contains("part `tube`, cell 0"), "{}", said(&stopped));
        let result = ResultFile::open(&folder.join(format!("{predictor}.rest.h5"))).expect("a result");
        let outcome = result.attribute("outcome").expect("attributes");
        assert!(matches!(outcome, Some(Attribute::Text(text)) if text == "stopped"));
        let last = *result.time().expect("times").last().expect("rows");
        assert!(last > 5e-3 && last < 6e-3, "{last}");
        let pressures = result.field("tube", "pressure").expect("pressures");
        assert!(pressures.iter().all(|pressure| pressure.is_finite() && *pressure > 0.0), "{predictor}");
    }
}

#[test]
fn a_check_that_does_not_hold_is_told_by_the_exit_code() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let held = call(folder, &["validate", "--only", "isentropic"]);
    assert_eq!(code(&held), 0, "{}", said(&held));
    // Held to a millionth of its limit, rounding alone is too much.
    let tightened = call(folder, &["validate", "--only", "isentropic", "--tighten", "1e6"]);
    assert_eq!(code(&tightened), 4);
    let text = String::from_utf8_lossy(&tightened.stdout).into_owned();
    assert!(text.contains("DOES NOT HOLD") && text.contains("\n0 of 1 checks hold\n"), "{text}");
    assert_eq!(code(&call(folder, &["validate", "--only", "isentropic", "--tighten", "0"])), 2);
}

#[test]
fn a_report_is_written_whole_and_not_over_another() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let report =
        |more: &[&str]| call(folder, &[&["validate", "--only", "isentropic", "--report", "r.html"], more].concat());
    assert_eq!(code(&report(&[])), 0);
    let page = std::fs::read_to_string(folder.join("r.html")).expect("a report");
    assert!(page.contains("1 of 1 checks hold") && page.ends_with("</html>\n"), "{page}");
    assert_eq!(std::fs::read_dir(folder).expect("a folder").count(), 1, "nothing else is left");
    let refused = report(&[]);
    assert_eq!((code(&refused), said(&refused).contains("r.html: found a file")), (74, true));
    assert_eq!(code(&report(&["--force"])), 0);
    let nowhere = call(folder, &["validate", "--only", "isentropic", "--report", "missing/r.html"]);
    assert_eq!((code(&nowhere), said(&nowhere).contains("missing/r.html")), (74, true));
}
