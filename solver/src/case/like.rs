//! `like: NAME` copies another part of the same file and changes some of its keys.

use std::collections::BTreeMap;

use super::merge::merge;
use crate::error::Problem;
use crate::fields::{Log, join};
use crate::quantity::quote;
use crate::suggest;
use crate::yaml::{Content, Entry, Node};

/// Memory that copies may take together [bytes].
pub(super) const MOST_COPIES: usize = 16 << 20;

/// Puts the copied keys in the place of every `like`; parts whose `like` is wrong are noted and left without it.
pub(super) fn expand(parts: &mut [Entry], log: &Log) {
    let index: BTreeMap<String, usize> =
        parts.iter().enumerate().map(|(place, part)| (part.key.clone(), place)).collect();
    let models: Vec<Option<usize>> = parts.iter_mut().map(|part| take_model(part, &index, log)).collect();
    let mut state = vec![State::Open; parts.len()];
    let mut weight = 0;
    for start in 0..parts.len() {
        for part in chain(start, &models, &mut state, parts, log).into_iter().rev() {
            state[part] = State::Done;
            let Some(model) = models[part].filter(|&model| state[model] == State::Done) else { continue };
            if log.has_given_up(&path_of(&parts[model])) {
                log.give_up(&path_of(&parts[part]));
            }
            weight += parts[model].value.weight();
            if weight > MOST_COPIES {
                let expected = format!("copies of at most {} MiB together", MOST_COPIES >> 20);
                log.wrong(&parts[part].place, &path_of(&parts[part]), "too many copies by `like`", expected);
                return parts.iter().for_each(|part| log.give_up(&path_of(part)));
            }
            let copy = parts[model].value.clone();
            let own = std::mem::replace(&mut parts[part].value, Node::plain("", parts[part].place.clone()));
            parts[part].value = merge(copy, own, &path_of(&parts[part]), log);
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Open,
    /// On the chain that is being followed.
    Followed,
    Done,
}

/// The parts from `start` along `like` to the first that needs no more work; a loop is noted and cut.
fn chain(start: usize, models: &[Option<usize>], state: &mut [State], parts: &[Entry], log: &Log) -> Vec<usize> {
    let mut chain: Vec<usize> = Vec::new();
    let mut next = Some(start);
    while let Some(part) = next {
        match state[part] {
            State::Done => break,
            State::Followed => {
                let names: Vec<&str> =
                    chain.iter().skip_while(|&&p| p != part).map(|&p| parts[p].key.as_str()).collect();
                let shown = names.iter().take(8).chain([&names[0]]).map(|name| quote(name)).collect::<Vec<_>>();
                let found = format!("a loop of `like`: {}", shown.join(" like "));
                log.wrong(
                    &parts[part].place,
                    &join(&path_of(&parts[part]), "like"),
                    found,
                    "a part with keys of its own",
                );
                chain.iter().for_each(|&p| log.give_up(&path_of(&parts[p])));
                break;
            }
            State::Open => {
                state[part] = State::Followed;
                chain.push(part);
                next = models[part];
            }
        }
    }
    chain
}

fn path_of(part: &Entry) -> String {
    join("parts", &part.key)
}

/// Takes `like` out of a part and answers with the part that it names.
fn take_model(part: &mut Entry, index: &BTreeMap<String, usize>, log: &Log) -> Option<usize> {
    let path = path_of(part);
    let Content::Map(keys) = &mut part.value.content else { return None };
    let like = keys.remove(keys.iter().position(|entry| entry.key == "like")?);
    let model = like.value.text().and_then(|name| index.get(name)).copied();
    if model.is_none() {
        log.give_up(&path);
        log.note(Problem {
            location: like.value.place.location(),
            path: join(&path, "like"),
            found: like.value.describe(),
            expected: "the name of another part of this case".to_owned(),
            nearest: like.value.text().and_then(|name| suggest::nearest(name, index.keys().map(String::as_str))),
        });
    }
    model
}
