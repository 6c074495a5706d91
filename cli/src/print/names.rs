//! Names side by side: what tells draws apart, and which parts of two branches stand for the same thing.

/// Words of a name: `left_tube` has `left` and `tube`.
fn words(name: &str) -> Vec<&str> {
    name.split(['_', '-', ' ', '.']).filter(|word| !word.is_empty()).collect()
}

/// `text` with a capital letter.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What tells names apart: `left_turbo` and `right_turbo` are `left` and `right`. The names themselves where that is not a word each.
pub(crate) fn sides(names: &[&str]) -> Vec<String> {
    let split: Vec<Vec<&str>> = names.iter().map(|name| words(name)).collect();
    let whole = || names.iter().map(|name| (*name).to_owned()).collect();
    if names.len() < 2 {
        return whole();
    }
    let shortest = split.iter().map(Vec::len).min().unwrap_or(0);
    let same = |place: &dyn Fn(&Vec<&str>) -> Option<String>| {
        let first = place(&split[0]);
        first.is_some() && split.iter().all(|words| place(words) == first)
    };
    let front = (0..shortest).take_while(|k| same(&|words| words.get(*k).map(|w| (*w).to_owned()))).count();
    let back = (0..shortest - front)
        .take_while(|k| same(&|words| words.iter().rev().nth(*k).map(|w| (*w).to_owned())))
        .count();
    let sides: Vec<String> = split.iter().map(|words| words[front..words.len() - back].join("_")).collect();
    if sides.iter().any(String::is_empty) { whole() } else { sides }
}

/// `name` without the words that tell its branch from the others: `left_tube` on the side `left` is `tube`.
fn without(name: &str, side: &str) -> Option<String> {
    let (words, side) = (words(name), words(side));
    let start = words.windows(side.len().max(1)).position(|window| window == side)?;
    let rest: Vec<&str> = words[..start].iter().chain(&words[start + side.len()..]).copied().collect();
    (!rest.is_empty()).then(|| rest.join("_"))
}

/// The name under which each part of a branch stands beside those of the other branches.
#[derive(Debug, Clone, Default)]
pub(crate) struct Shared {
    sides: Vec<String>,
    /// Parts of each branch, in its order.
    parts: Vec<Vec<String>>,
}

impl Shared {
    /// From what tells the branches apart and the parts of each.
    pub(crate) fn new(sides: Vec<String>, parts: Vec<Vec<String>>) -> Self {
        Self { sides, parts }
    }

    /// The common name of `part` in `branch` where every branch has its own such part; its own name where that is not sure.
    pub(crate) fn name(&self, branch: usize, part: &str) -> String {
        let Some(common) = without(part, &self.sides[branch]) else { return part.to_owned() };
        let taken = self.parts.iter().flatten().any(|other| *other == common);
        let everywhere = self.sides.iter().zip(&self.parts).all(|(side, parts)| {
            parts.iter().filter(|other| without(other, side).as_ref() == Some(&common)).count() == 1
        });
        if taken || !everywhere { part.to_owned() } else { common }
    }
}

/// The union of lists in an order that keeps theirs as far as it can.
pub(crate) fn merged<T: PartialEq + Clone>(lists: &[Vec<T>]) -> Vec<T> {
    let mut all: Vec<T> = Vec::new();
    for list in lists {
        let mut next = 0;
        for item in list {
            match all.iter().position(|known| known == item) {
                Some(place) => next = next.max(place + 1),
                None => {
                    all.insert(next, item.clone());
                    next += 1;
                }
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn owned(names: &[&str]) -> Vec<String> {
        names.iter().map(|name| (*name).to_owned()).collect()
    }

    #[test]
    fn draws_are_told_apart_by_the_words_that_differ() {
        assert_eq!(sides(&["left_turbo", "right_turbo"]), ["left", "right"]);
        assert_eq!(sides(&["turbo_1", "turbo_2", "turbo_3"]), ["1", "2", "3"]);
        assert_eq!(sides(&["turbo", "turbo_b"]), ["turbo", "turbo_b"]);
        assert_eq!(sides(&["only"]), ["only"]);
        assert_eq!(sides(&["small", "big"]), ["small", "big"]);
    }

    #[test]
    fn parts_share_a_name_only_where_it_is_sure() {
        let parts = vec![
            owned(&["box", "left_filter", "left_tube", "tube_left_end", "left_resonator"]),
            owned(&["box", "right_filter", "right_tube", "tube_right_end", "filter"]),
        ];
        let shared = Shared::new(owned(&["left", "right"]), parts);
        assert_eq!(shared.name(0, "left_tube"), "tube");
        assert_eq!(shared.name(1, "right_tube"), "tube");
        assert_eq!(shared.name(0, "tube_left_end"), "tube_end");
        assert_eq!(shared.name(0, "box"), "box");
        assert_eq!(shared.name(0, "left_resonator"), "left_resonator", "the right branch has none");
        assert_eq!(shared.name(0, "left_filter"), "left_filter", "another part is called so");
    }

    #[test]
    fn a_crossed_part_keeps_its_name() {
        let parts = vec![owned(&["left_tube", "right_tube"]), owned(&["right_tube"])];
        let shared = Shared::new(owned(&["left", "right"]), parts);
        assert_eq!(shared.name(0, "right_tube"), "right_tube");
    }

    #[test]
    fn merged_lists_keep_their_orders() {
        let lists = [owned(&["nose", "box", "tube"]), owned(&["nose", "snout", "box", "screen", "tube"])];
        assert_eq!(merged(&lists), ["nose", "snout", "box", "screen", "tube"]);
    }
}
