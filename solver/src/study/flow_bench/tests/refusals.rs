//! What goes on a bench and what does not, and names that are taken.

use super::*;

fn told(setup: &BenchSetup) -> Option<String> {
    tract().on_bench(setup, 1000.0).err().map(|error| error.to_string())
}

#[test]
fn ends_are_parts_that_a_bench_can_be_joined_to() {
    let ends = ["nose", "snout", "side", "box", "paper", "tube", "split", "left", "left_turbo"];
    for part in ends {
        let refused = |words: &str, found: Option<String>, may: bool| {
            assert_eq!(found.is_none(), may, "{part} at the {words}: {found:?}");
            assert!(found.is_none_or(|found| found.contains(&format!("at the {words} of what is tested"))));
        };
        refused("beginning", told(&span(Some(part), None)), !matches!(part, "split" | "left_turbo"));
        refused("end", told(&span(None, Some(part))), !matches!(part, "nose" | "side" | "split"));
    }
    let same = told(&span(Some("box"), Some("box"))).expect("a mistake");
    assert!(same.contains("parts.box: found one plenum at both ends of what is tested"), "{same}");
}

#[test]
fn an_entry_needs_an_edge_at_the_room() {
    for entry in [BenchEntry::Radiused, BenchEntry::Sharp] {
        let on = |from: Option<&str>, to: Option<&str>| told(&BenchSetup { entry, ..span(from, to) });
        for (from, kind) in [("paper", "filter"), ("box", "plenum")] {
            let refused = on(Some(from), Some("left")).expect("a mistake");
            let words = format!("parts.{from}: found a {kind} first at the room");
            assert!(refused.contains(&words) && refused.contains("such as `tube`"), "{refused}");
        }
        for from in [None, Some("nose"), Some("snout"), Some("side"), Some("tube")] {
            assert_eq!(on(from, Some("left")), None, "{from:?}");
        }
        // The hole that a mouth leaves is sharp; where the mouth stood, the entry was one to ask for.
        let out = BenchSetup { entry, removed: vec!["side".to_owned()], ..span(Some("side"), Some("box")) };
        assert_eq!(told(&out), None);
    }
    assert_eq!(told(&span(Some("paper"), Some("left"))), None, "as it is, it is no matter");
}

#[test]
fn the_users_names_are_left_to_the_user() {
    let names = [
        ("side", "flow_bench_opening"),
        ("paper", "flow_bench_chamber"),
        ("snout", "flow_bench_stub"),
        ("left", "flow_bench"),
        ("right", "flow_bench_plug_1"),
        ("tube", "flow_bench_2"),
    ];
    let renamed = |name: &str| names.iter().find(|pair| pair.0 == name).map_or(name, |pair| pair.1).to_owned();
    let mut text = TRACT.to_owned();
    for (name, new) in names {
        let begins = [("  ", ":"), (" ", ","), ("[", ","), (" ", "]"), ("{", ":"), ("like: ", "}"), (" ", ".")];
        for (before, behind) in begins {
            text = text.replace(&format!("{before}{name}{behind}"), &format!("{before}{new}{behind}"));
        }
    }
    // Legs of the wye have names of their own.
    let text =
        text.replace("flow_bench: 45 deg", "left: 45 deg").replace("flow_bench_plug_1: -45 deg", "right: -45 deg");
    let case = Case::from_text("named.yaml", &text).expect("a case");
    for (from, to, out) in [
        (None, None, ""),
        (None, Some("left_turbo"), "tube"),
        (Some("paper"), Some("paper"), ""),
        (Some("box"), Some("left"), "left"),
        (None, Some("box"), "side"),
        (Some("snout"), Some("tube"), "paper"),
    ] {
        let read = |case: &Case, name: &dyn Fn(&str) -> String| {
            let removed = [out].iter().filter(|out| !out.is_empty()).map(|out| name(out)).collect();
            let setup = BenchSetup { from: from.map(name), to: to.map(name), removed, ..BenchSetup::default() };
            bench(Convention::SettlingChamber, Setting::Depression(USUAL)).test(case, &setup).expect("a reading")
        };
        assert_eq!(read(&case, &renamed), read(&tract(), &str::to_owned), "{from:?} {to:?} {out}");
    }
}
