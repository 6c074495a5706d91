//! Files made to exhaust memory or time: refused by counts, never by a clock.

use proptest::prelude::*;

use super::*;

#[test]
fn a_doubling_chain_of_copies_is_refused() {
    // Every part doubles nothing by itself, but copies the one before with a list as long as the limit on text allows.
    let list = vec!["{at: 0 mm, diameter: 70 mm}"; 5_000].join(", ");
    let mut text = format!("parts:\n  p0: {{kind: duct, length: 1 m, sections: [{list}]}}\n");
    for index in 1..5_000 {
        text.push_str(&format!("  p{index}: {{like: p{}}}\n", index - 1));
    }
    text.push_str("flow: [[p0, p1]]\n");
    let told = mistakes(&text);
    assert!(told.iter().any(|line| line.contains("too many copies by `like`")), "{told:?}");
}

#[test]
fn a_long_chain_of_small_copies_is_followed_without_recursion() {
    let mut text = "parts:\n  p0: {kind: plenum, volume: 1 L}\n".to_owned();
    for index in (1..9_000).rev() {
        text.push_str(&format!("  p{index}: {{like: p{}}}\n", index - 1));
    }
    text.push_str("flow: [[p0, p1]]\n");
    assert_eq!(case(&text).as_written("parts.p8999.volume"), Some("1 L"));
}

#[test]
fn too_many_changes_of_large_parts_are_refused() {
    let list = vec!["{at: 0 mm, diameter: 70 mm}"; 5_000].join(", ");
    let points: String = (0..900).map(|index| format!("  p{index}: {{parts: {{big: {{length: 2 m}}}}}}\n")).collect();
    let text = format!(
        "parts:\n  big: {{kind: duct, length: 1 m, sections: [{list}]}}\n  box: {{kind: plenum, volume: 1 L}}\n\
         flow: [[big, box]]\npoints:\n{points}"
    );
    assert!(mistakes(&text).iter().any(|line| line.contains("too many changes of parts")));
}

#[test]
fn counts_of_parts_and_points_are_limited() {
    let parts: String = (0..10_001).map(|index| format!("  p{index}: {{kind: plenum, volume: 1 L}}\n")).collect();
    let told = mistakes(&format!("parts:\n{parts}flow: [[p0, p1]]\n"));
    assert!(told.iter().any(|line| line.starts_with("1:1 parts: 10001 parts | at most 10000")), "{told:?}");
    let points: String = (0..1_001).map(|index| format!("  p{index}: {{}}\n")).collect();
    let told = mistakes(&format!("{SMALL}points:\n{points}"));
    assert!(told.iter().any(|line| line.contains("1001 points | at most 1000")), "{told:?}");
}

#[test]
fn a_flood_of_mistakes_is_cut() {
    let parts: String = (0..9_000).map(|index| format!("  p{index}: {{kind: plenun, volume: 1}}\n")).collect();
    assert_eq!(mistakes(&format!("parts:\n{parts}flow: [[p0, p1]]\n")).len(), 200);
}

#[test]
fn nothing_but_a_map_is_a_case() {
    for text in ["a", "[a]", "- a\n- b\n", "parts", "5", "''"] {
        assert!(mistakes(text)[0].ends_with("| a map with `parts` and `flow` | -"), "{text}");
    }
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused_with_a_reason(text in "\\PC*") {
        if let Err(error) = read(&text) {
            prop_assert!(!error.problems.is_empty());
        }
    }

    #[test]
    fn any_mutilated_case_is_read_or_refused(at in 0..SMALL.len(), length in 0..40_usize, other in "[a-z0-9{}:,. \n\\[\\]&*'-]{0,12}") {
        let end = (at + length).min(SMALL.len());
        let text = format!("{}{other}{}", &SMALL[..at], &SMALL[end..]);
        match read(&text) {
            Ok(case) => {
                let again = Case::load("again", &case.resolved_text(), &Files::Nowhere, KINDS);
                prop_assert!(again.is_ok_and(|again| again.resolved_text() == case.resolved_text()));
            }
            Err(error) => prop_assert!(!error.problems.is_empty()),
        }
    }
}
