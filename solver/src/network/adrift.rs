//! Air that nothing of given pressure is connected with: what is taken out of it or fed into it has no steady state but an empty room or a
//! burst one, unless both happen to balance.

use super::{JointKind, Network};
use crate::joint::side::Side;
use crate::part::Demand;

/// Air that no mouth, gap or flow bench holds at a pressure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Adrift {
    /// A part in which it stands: a volume, where there is one.
    pub part: String,
    /// Draws that take it out.
    pub draws: Vec<String>,
    /// What brings it in.
    pub inflows: Vec<String>,
}

impl std::fmt::Display for Adrift {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let named = |kind: &str, names: &[String], verb: &str| {
            let names: Vec<String> = names.iter().map(|name| format!("{kind} `{name}`")).collect();
            (!names.is_empty()).then(|| format!("{} {verb}", names.join(" and ")))
        };
        let doing = [named("draw", &self.draws, "empties it"), named("inflow", &self.inflows, "fills it")];
        let doing: Vec<String> = doing.into_iter().flatten().collect();
        write!(f, "nothing gives the air of `{}` its pressure, and {}", self.part, doing.join(", "))
    }
}

impl Network {
    /// Air that is adrift and is drawn out or fed, in the order of its parts.
    #[must_use]
    pub fn adrift(&self) -> Vec<Adrift> {
        let ducts = self.ducts.len();
        let volume = |volume: usize| ducts + volume;
        let mut bodies = Bodies::of(ducts + self.volumes.len());
        for link in &self.links {
            bodies.join(link.from.0.0, link.to.0.0);
        }
        let mut sides = Vec::new();
        for joint in &self.joints {
            let holders: Vec<usize> = match &joint.kind {
                JointKind::Wye(wye) => wye.ends.iter().map(|end| end / 2).collect(),
                JointKind::Series(series) => {
                    let of = |side: &Side| match side {
                        Side::Duct { end } => Some(end / 2),
                        Side::Volume { volume: number, .. } => Some(volume(*number)),
                        _ => None,
                    };
                    let holders: Vec<usize> = series.sides.iter().filter_map(of).collect();
                    if let [holder] = holders[..] {
                        let ends = series.sides.iter().zip(&joint.parts).map(|(side, part)| (holder, side, part));
                        sides.extend(ends);
                    }
                    holders
                }
            };
            for pair in holders.windows(2) {
                bodies.join(pair[0], pair[1]);
            }
        }
        let mut found = Vec::new();
        for body in bodies.all() {
            let own = |holder: usize| bodies.body(holder) == body;
            let of_body = || sides.iter().filter(|(holder, ..)| own(*holder));
            let is_held = of_body().any(|(_, side, _)| {
                let bench = matches!(side, Side::Draw { demand: Demand::Depression(_), .. });
                bench || matches!(side, Side::Still { .. } | Side::Mouth { .. })
            });
            let named = |is: fn(&Side) -> bool| {
                let names = of_body().filter(|(_, side, _)| is(side)).map(|(_, _, part)| (*part).clone());
                names.collect::<Vec<_>>()
            };
            let draws = named(|side| matches!(side, Side::Draw { .. }));
            let inflows = named(|side| matches!(side, Side::Inflow { .. }));
            if is_held || draws.is_empty() && inflows.is_empty() {
                continue;
            }
            let room = (0..self.volumes.len()).find(|number| own(volume(*number)));
            let duct = (0..ducts).find(|duct| own(*duct));
            let part = room.map(|room| self.volumes[room].name.clone()).or_else(|| Some(self.ducts[duct?].clone()));
            found.push(Adrift { part: part.unwrap_or_default(), draws, inflows });
        }
        found
    }
}

/// Ducts and volumes by the air that they share.
struct Bodies(Vec<usize>);

impl Bodies {
    fn of(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn body(&self, holder: usize) -> usize {
        self.0[holder]
    }

    fn join(&mut self, one: usize, two: usize) {
        let (from, to) = (self.0[two], self.0[one]);
        self.0.iter_mut().filter(|body| **body == from).for_each(|body| *body = to);
    }

    fn all(&self) -> Vec<usize> {
        let mut bodies = self.0.clone();
        bodies.sort_unstable();
        bodies.dedup();
        bodies
    }
}
