//! Reading the flow lines: which ends, volumes and legs follow each other, and what is left over.

use super::{Body, Builder, Link};
use crate::error::Location;
use crate::flow::End;
use crate::loss::Loss;
use crate::network::blueprint::{Entry, OUTSIDE};
use crate::part::Part;
use std::collections::{BTreeMap, BTreeSet};

impl Builder {
    pub(super) fn walk_lines(&mut self, losses: &mut BTreeMap<String, (Location, Box<dyn Loss>)>) -> Vec<Link> {
        let lines = std::mem::take(&mut self.blueprint.lines);
        let mut links = Vec::new();
        let mut placed = BTreeSet::new();
        for line in &lines {
            let mut open: Option<(Body, String)> = None;
            let mut pending: Vec<(String, Box<dyn Loss>)> = Vec::new();
            for entry in line {
                if let Some((_, loss)) = losses.remove(&entry.name) {
                    if open.is_none() {
                        self.problem(
                            &entry.location,
                            "flow",
                            &format!("`{}` at the start of a line", entry.name),
                            "a mouth, volume, duct or `outside` before a loss",
                        );
                    }
                    placed.insert(entry.name.clone());
                    pending.push((entry.name.clone(), loss));
                    continue;
                }
                if placed.contains(&entry.name) {
                    self.problem(
                        &entry.location,
                        "flow",
                        &format!("the loss `{}` a second time", entry.name),
                        "each loss in one place; `like:` makes another",
                    );
                    continue;
                }
                let Some(arriving) = self.body(entry, End::First) else { continue };
                if let Some((body, name)) = open.take() {
                    links.push(Link {
                        bodies: [body, arriving],
                        names: [name, entry.name.clone()],
                        losses: std::mem::take(&mut pending),
                        vent: None,
                        location: entry.location.clone(),
                    });
                }
                open = self.body(entry, End::Last).map(|body| (body, entry.name.clone()));
            }
            if let (Some((last, _)), Some(entry)) = (pending.last(), line.last()) {
                let found = format!("`{last}` at the end of a line");
                self.problem(&entry.location, "flow", &found, "a volume, duct, draw or `outside` behind a loss");
            }
        }
        links
    }

    pub(super) fn body(&mut self, entry: &Entry, end: End) -> Option<Body> {
        let arriving = end == End::First;
        if entry.name == OUTSIDE {
            return Some(Body::Terminal(OUTSIDE.to_owned()));
        }
        if let Some(duct) = self.ducts.iter().position(|name| *name == entry.name) {
            return Some(Body::Duct(duct, end));
        }
        if let Some(volume) = self.volumes.iter().position(|volume| volume.name == entry.name) {
            return Some(Body::Volume(volume));
        }
        match self.part(&entry.name) {
            Some(Part::Wye(wye)) => {
                let leg = entry.leg.as_ref().and_then(|leg| wye.legs.iter().position(|known| known.0 == *leg));
                if leg.is_none() && arriving {
                    let known: Vec<_> = wye.legs.iter().map(|leg| format!("{}.{}", entry.name, leg.0)).collect();
                    let found = format!("`{}`", display(entry));
                    self.problem(&entry.location, "flow", &found, &format!("one of its legs: {}", known.join(", ")));
                }
                leg.map(|leg| Body::Leg(entry.name.clone(), leg))
            }
            Some(Part::Duct(_)) => None,
            Some(_) => Some(Body::Terminal(entry.name.clone())),
            None => {
                if arriving {
                    let found = format!("`{}`", display(entry));
                    self.problem(&entry.location, "flow", &found, "the name of a part");
                    let names: Vec<&str> = self.blueprint.parts.iter().map(|part| part.0.as_str()).collect();
                    let nearest = crate::suggest::nearest(&entry.name, names.iter().copied());
                    if let Some(problem) = self.problems.last_mut() {
                        problem.nearest = nearest;
                    }
                }
                None
            }
        }
    }

    pub(super) fn check_all_used(&mut self, links: &[Link]) {
        let mut uses: BTreeMap<String, usize> = BTreeMap::new();
        for body in links.iter().flat_map(|link| &link.bodies) {
            *uses.entry(self.describe(body)).or_default() += 1;
        }
        let mut wanted: Vec<(String, String, Location)> = Vec::new();
        for (name, location, part) in &self.blueprint.parts {
            let all: Vec<String> = match part {
                Part::Duct(_) => vec![format!("first end of `{name}`"), format!("last end of `{name}`")],
                Part::Wye(wye) => wye.legs.iter().map(|leg| format!("leg `{name}.{}`", leg.0)).collect(),
                Part::Plenum(_) | Part::Bay(_) | Part::Loss(_) | Part::Vent(_) => continue,
                Part::HotPart(_) | Part::Shield(_) => continue,
                _ => vec![format!("`{name}`")],
            };
            wanted.extend(all.into_iter().map(|what| (name.clone(), what, location.clone())));
        }
        for (name, what, location) in wanted {
            let count = uses.get(&what).copied().unwrap_or(0);
            if count != 1 {
                let found = if count == 0 {
                    format!("{what} joined to nothing")
                } else {
                    format!("{what} joined {count} times")
                };
                self.problem(&location, &format!("parts.{name}"), &found, "each end in exactly one flow line");
            }
        }
        let breathed = self.blueprint.parts.iter().filter_map(|(_, _, part)| match part {
            Part::Mouth(mouth) => mouth.from.clone(),
            _ => None,
        });
        uses.extend(breathed.map(|bay| (format!("`{bay}`"), 1)));
        let idle: Vec<_> = self
            .volumes
            .iter()
            .filter(|volume| !uses.contains_key(&format!("`{}`", volume.name)))
            .map(|volume| volume.name.clone())
            .collect();
        for name in idle {
            let location = self.location(&name);
            self.problem(
                &location,
                &format!("parts.{name}"),
                "a plenum that no flow line names",
                "air that goes through it",
            );
        }
    }

    pub(super) fn location(&self, name: &str) -> Location {
        self.blueprint.parts.iter().find(|part| part.0 == name).map(|part| part.1.clone()).unwrap_or_default()
    }

    pub(super) fn describe(&self, body: &Body) -> String {
        match body {
            Body::Duct(duct, End::First) => format!("first end of `{}`", self.ducts[*duct]),
            Body::Duct(duct, End::Last) => format!("last end of `{}`", self.ducts[*duct]),
            Body::Volume(volume) => format!("`{}`", self.volumes[*volume].name),
            Body::Terminal(name) => format!("`{name}`"),
            Body::Leg(name, leg) => match self.part(name) {
                Some(Part::Wye(wye)) => format!("leg `{name}.{}`", wye.legs[*leg].0),
                _ => format!("`{name}`"),
            },
        }
    }
}

fn display(entry: &Entry) -> String {
    match &entry.leg {
        Some(leg) => format!("{}.{leg}", entry.name),
        None => entry.name.clone(),
    }
}
