//! The figure that decides at a point, and where a layout stands by it.

use crate::layouts::{AtPoint, Layout, noise};
use crate::print::names::capital;
use crate::print::number::{fixed, signed};

/// What layouts are judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Figure {
    Response,
    RollOn,
    Power,
    Recovery,
}

/// Where a layout stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Standing {
    Best,
    /// Not measurably behind.
    Level,
    /// Behind by this much.
    Behind(String),
}

impl Standing {
    /// Best, or not measurably behind.
    pub(super) fn is_good(&self) -> bool {
        !matches!(self, Self::Behind(_))
    }
}

impl Figure {
    /// What decides at a point: what the engine does there where it has one, recovery where it has none.
    pub(super) fn main(at: &AtPoint) -> Self {
        let has = |figure: &Self| at.layouts.iter().any(|layout| figure.value(layout).is_some());
        [Self::Response, Self::RollOn, Self::Power].into_iter().find(has).unwrap_or(Self::Recovery)
    }

    pub(super) fn is_power(self) -> bool {
        self == Self::Power
    }

    /// Its value; nothing where a speed or a charge was not reached.
    pub(super) fn value(self, layout: &Layout) -> Option<f64> {
        let engine = layout.engine.as_ref();
        match self {
            Self::Response => engine?.response,
            Self::RollOn => engine?.roll_on.as_ref().map(|roll_on| roll_on.1),
            Self::Power => engine.map(|made| made.power),
            Self::Recovery => Some(layout.recovery),
        }
    }

    pub(super) fn words(self, layouts: &[Layout]) -> String {
        let speeds =
            layouts.iter().find_map(|layout| layout.engine.as_ref()?.roll_on.as_ref()).map(|roll_on| &roll_on.0);
        match self {
            Self::Response => "time to 90 % of the wanted charge".to_owned(),
            Self::RollOn => format!("time from {}", speeds.map_or("", String::as_str)),
            Self::Power => "power at the crank".to_owned(),
            Self::Recovery => "recovery p02/p00".to_owned(),
        }
    }

    pub(super) fn written(self, value: f64) -> String {
        match self {
            Self::Response | Self::RollOn => format!("{} s", fixed(value, 2)),
            Self::Power => format!("{} kW", fixed(1e-3 * value, 1)),
            Self::Recovery => fixed(value, 4),
        }
    }

    fn difference(self, best: f64, value: f64) -> String {
        match self {
            Self::Response | Self::RollOn => format!("{} s", signed(value - best, 2)),
            Self::Power => format!("{} %", signed(100.0 * (value / best - 1.0), 1)),
            Self::Recovery => signed(value - best, 4),
        }
    }

    /// What is worse by less than this is not measurably so.
    fn noise(self, best: f64) -> f64 {
        match self {
            Self::Response | Self::RollOn => noise::TIME,
            Self::Power => noise::PULL * best,
            Self::Recovery => noise::RECOVERY,
        }
    }

    fn less_is_better(self) -> bool {
        matches!(self, Self::Response | Self::RollOn)
    }

    /// Layouts that have a value, the best first.
    fn ranked(self, layouts: &[Layout]) -> Vec<(&Layout, f64)> {
        let mut all: Vec<(&Layout, f64)> =
            layouts.iter().filter_map(|layout| Some((layout, self.value(layout)?))).collect();
        all.sort_by(|a, b| if self.less_is_better() { a.1.total_cmp(&b.1) } else { b.1.total_cmp(&a.1) });
        all
    }

    pub(super) fn standing(self, layout: &Layout, layouts: &[Layout]) -> Standing {
        let ranked = self.ranked(layouts);
        match (ranked.first(), self.value(layout)) {
            (Some((best, _)), _) if best.name == layout.name => Standing::Best,
            (Some((_, best)), Some(value)) if (value - best).abs() < self.noise(*best) => Standing::Level,
            (Some((_, best)), Some(value)) => Standing::Behind(self.difference(*best, value)),
            _ => Standing::Behind("not reached".to_owned()),
        }
    }

    /// The best, those level with it, and those behind, in a sentence.
    pub(super) fn sentence(self, layouts: &[Layout]) -> String {
        if self == Self::Recovery {
            // Told beside the ledger that says why.
            return String::new();
        }
        let ranked = self.ranked(layouts);
        let Some((best, value)) = ranked.first() else { return String::new() };
        let mut text = format!("{}: best {} with {}", capital(&self.words(layouts)), best.name, self.written(*value));
        let regime = best.engine.as_ref().map_or("", |made| made.regime.as_str());
        if self.is_power() {
            text.push_str(&format!(" ({regime})"));
        }
        let told = |good: bool| {
            let others = ranked.iter().skip(1).filter(|(layout, _)| self.standing(layout, layouts).is_good() == good);
            others
                .map(|(layout, own)| format!("{} {}", layout.name, self.difference(*value, *own)))
                .collect::<Vec<_>>()
                .join(", ")
        };
        for (words, list) in [("not measurably behind", told(true)), ("behind", told(false))] {
            if !list.is_empty() {
                text.push_str(&format!("; {words}: {list}"));
            }
        }
        text + "."
    }
}
