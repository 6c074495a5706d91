//! A compressor of which one design point is known.
//!
//! Speed lines are quarter ellipses between surge and choke, and the efficiency falls quadratically around its best point: the forms
//! of Guzzella and Onder, Introduction to Modeling and Control of Internal Combustion Engine Systems, 2nd ed. (2010), and of Eriksson
//! and Nielsen, Modeling and Control of Engines and Drivelines (2014), both from memory. The constants that scale them are marked below.

use super::Reference;
use crate::heat::ease::larger;

/// Surge flow over design flow at design speed. Common practice, no source.
const SURGE: f64 = 0.55;
/// Choke flow over design flow at design speed. Common practice, no source.
const CHOKE: f64 = 1.25;
/// Choke flow of the wheel at rest over that at design speed: it is a fixed passage. An own choice, no source.
const CHOKE_AT_REST: f64 = 0.15;
/// Highest speed over design speed. Common practice, no source.
const SPEED_LIMIT: f64 = 1.15;
/// Rise of pressure ratio at the foot of a speed line over that at its top, less what a wheel at rest loses. An own choice, no source.
const FOOT: f64 = 0.35;
/// Loss of pressure ratio at choke at rest, over the design's rise. An own choice, no source.
const LOSS_AT_REST: f64 = 0.2;
/// Steepest fall of a line, over that of its height within its width at design speed. An own choice: an ellipse ends upright, which
/// no solver can follow.
const STEEPEST: f64 = 7.0;
/// Fall from nothing to design flow on top of the ellipse, over the design's rise. An own choice: it keeps the top falling.
const SLIGHT: f64 = 0.02;
/// Weights of the efficiency island: across its ridge, along it, and the ridge's direction. An own choice, to the shape of published
/// maps of radial compressors.
const ACROSS: f64 = 0.3;
const ALONG: f64 = 0.12;
const RIDGE: f64 = 0.6;
/// Lowest efficiency, and the width in which it is reached.
const FLOOR: f64 = 0.3;
const EASE: f64 = 0.1;
/// Speeds over design speed beyond which nothing changes, so that no input overflows.
const FASTEST: f64 = 1e3;

/// A compressor scaled to one design point.
#[derive(Debug, Clone, PartialEq)]
pub struct Generic {
    flow: f64,
    pressure_ratio: f64,
    efficiency: f64,
    speed: f64,
    reference: Reference,
    /// Rise of the ideal temperature, over the inlet's, at the top of the design's speed line.
    ideal_rise: f64,
    /// Steepest fall of pressure ratio over the design's flow.
    steepest: f64,
}

/// A speed line over flow, in units of the design's flow.
struct Ellipse {
    surge: f64,
    choke: f64,
    top: f64,
    height: f64,
}

impl Generic {
    /// The compressor that at `speed` [corrected rad/s] brings `flow` [corrected kg/s] to `pressure_ratio`, above one, with isentropic
    /// `efficiency`, above 0.4 and below one. All of them above nothing.
    #[must_use]
    pub fn at_design(flow: f64, pressure_ratio: f64, efficiency: f64, speed: f64, reference: Reference) -> Self {
        let rise = pressure_ratio - 1.0;
        let place = (1.0 - SURGE) / (CHOKE - SURGE);
        let fallen = 1.0 - (1.0 - place * place).sqrt();
        let loss = LOSS_AT_REST * rise;
        let top = (rise * (1.0 + SLIGHT) + loss * fallen) / (1.0 - (1.0 - FOOT) * fallen);
        let height = loss + (1.0 - FOOT) * top;
        let ideal_rise = libm::pow(1.0 + top, 1.0 / 3.5) - 1.0;
        let steepest = STEEPEST * height / (CHOKE - SURGE);
        Self { flow, pressure_ratio, efficiency, speed, reference, ideal_rise, steepest }
    }

    fn share_of_speed(&self, corrected_speed: f64) -> f64 {
        (corrected_speed / self.speed).clamp(0.0, FASTEST)
    }

    /// The line at `speed`, a share of the design's. Its top follows Euler's work, which grows with the square of tip speed, for
    /// gamma 1.4.
    fn line(&self, speed: f64) -> Ellipse {
        let base = 1.0 + self.ideal_rise * speed * speed;
        let top = base * base * base * base.sqrt() - 1.0;
        let height = LOSS_AT_REST * (self.pressure_ratio - 1.0) + (1.0 - FOOT) * top;
        Ellipse {
            surge: SURGE * speed,
            choke: CHOKE * (CHOKE_AT_REST + (1.0 - CHOKE_AT_REST) * speed),
            top: 1.0 + top,
            height,
        }
    }

    /// The ellipse up to where it is as steep as it may be, and there its tangent.
    pub(super) fn raw_pressure_ratio(&self, corrected_flow: f64, corrected_speed: f64) -> f64 {
        let Ellipse { surge, choke, top, height } = self.line(self.share_of_speed(corrected_speed));
        let flow = corrected_flow / self.flow;
        let width = choke - surge;
        let level = top - SLIGHT * (self.pressure_ratio - 1.0) * flow;
        let place = (flow - surge) / width;
        if place <= 0.0 {
            return level;
        }
        // On an ellipse the slope is height / width times place / sqrt(1 - place^2).
        let ratio = self.steepest * width / height;
        let hypotenuse = (1.0 + ratio * ratio).sqrt();
        let fallen = if place * hypotenuse <= ratio {
            1.0 - (1.0 - place * place).sqrt()
        } else {
            1.0 - hypotenuse + ratio * place
        };
        level - height * fallen
    }

    pub(super) fn efficiency(&self, corrected_flow: f64, corrected_speed: f64) -> f64 {
        let ratio = super::above_nothing(self.raw_pressure_ratio(corrected_flow, corrected_speed));
        let flow = corrected_flow / self.flow - 1.0;
        let rise = (ratio - self.pressure_ratio) / (self.pressure_ratio - 1.0);
        let across = flow - RIDGE * rise;
        larger(self.efficiency - ACROSS * across * across - ALONG * rise * rise, FLOOR, EASE)
    }

    pub(super) fn surge_flow(&self, corrected_speed: f64) -> f64 {
        self.flow * self.line(self.share_of_speed(corrected_speed)).surge
    }

    pub(super) fn choke_flow(&self, corrected_speed: f64) -> f64 {
        self.flow * self.line(self.share_of_speed(corrected_speed)).choke
    }

    pub(super) fn speed_limit(&self) -> f64 {
        SPEED_LIMIT * self.speed
    }

    pub(super) fn reference(&self) -> Reference {
        self.reference
    }
}
