//! Every law is run through the same checks.

use std::f64::consts::PI;

use super::area_change::AreaChange;
use super::elbow::Elbow;
use super::entry::{Edge, Entry};
use super::filter::{Filter, Resistance};
use super::orifice::Orifice;
use super::screen::{Pattern, Screen};
use super::{Basis, Direction, Loss, Place, Stream};
use crate::gas::Gas;

const DUCT: f64 = 0.004;

fn laws() -> Vec<Box<dyn Loss>> {
    let medium = |viscous, inertial| {
        Filter::new(Resistance { viscous, inertial }, 0.2, 0.03, Basis::Assumed("invented".to_owned()))
    };
    let mut laws: Vec<Box<dyn Loss>> = vec![
        Box::new(Entry::new(Edge::Protruding, DUCT, Direction::Forward)),
        Box::new(Entry::new(Edge::Flared(0.01), DUCT, Direction::Reverse)),
        Box::new(Entry::new(Edge::Lip(0.004), DUCT, Direction::Forward)),
        Box::new(AreaChange::new(Place { before: Some(0.002), after: None })),
        Box::new(AreaChange::new(Place { before: Some(0.006), after: None })),
        Box::new(medium(4e7, 300.0)),
        Box::new(medium(0.0, 300.0)),
        Box::new(Screen::new(Pattern::WireMesh, 0.6, None, 1e-3)),
        Box::new(Screen::new(Pattern::PerforatedPlate, 0.3, Some(0.01), 1e-3)),
        Box::new(Orifice::plate(0.001, None, 2e-3)),
        Box::new(Orifice::gap(1e-3, 0.3, None, 2e-3)),
        Box::new(Elbow::new(0.5 * PI, 0.09, None)),
    ];
    for law in &mut laws {
        law.place(Place { before: Some(DUCT), after: Some(DUCT) }).unwrap();
    }
    laws
}

fn needed(law: &dyn Loss, flow: f64, after: f64) -> f64 {
    let stream = Stream { mass_flow: flow.abs(), total_temperature: 300.0 };
    law.total_pressure_before(&Gas::dry_air(), &stream, Direction::of(flow), after)
}

#[test]
fn nothing_is_lost_at_rest() {
    for law in laws() {
        for after in [1.0, 1e3, 1e5] {
            assert!((needed(&*law, 0.0, after) / after - 1.0).abs() < 1e-14, "{law:?}");
        }
    }
}

#[test]
fn passes_zero_flow_without_a_step_and_with_a_finite_slope() {
    for law in laws() {
        for flow in [-1e-6, -1e-12, 1e-12, 1e-6] {
            let slope = (needed(&*law, flow, 1e5) - 1e5) / flow.abs();
            // A pascal at a milligram a second is stiff already; the law is linear here.
            assert!((0.0..1e6).contains(&slope) || slope.abs() * flow.abs() < 1e-9, "{law:?} {flow}: {slope}");
        }
    }
}

#[test]
fn asks_for_more_with_more_flow_and_with_more_pressure_behind() {
    for law in laws() {
        for sign in [1.0, -1.0] {
            for after in [10.0, 2e4, 1e5] {
                let mut last = needed(&*law, 0.0, after);
                for step in 1..=400 {
                    let flow = sign * 0.005 * f64::from(step);
                    let now = needed(&*law, flow, after);
                    assert!(now.is_finite() && now >= after, "{law:?} {flow} {after}: {now}");
                    assert!(now >= last * (1.0 - 1e-12), "{law:?} {flow} {after}: {now} after {last}");
                    assert!(needed(&*law, flow, 1.01 * after) >= now * (1.0 - 1e-10), "{law:?} {flow} {after}");
                    last = now;
                }
            }
        }
    }
}

#[test]
fn is_continuous_through_choking() {
    for law in laws() {
        for sign in [1.0, -1.0] {
            let at = |step: i32| needed(&*law, sign * 1e-4 * f64::from(step), 6e4);
            for step in 0..12_000 {
                // At most 200 kPa for each kilogram a second and each head lost: a kink is allowed, a jump is not.
                assert!((at(step + 1) - at(step)).abs() < 500.0, "{law:?} {step}");
            }
        }
    }
}

#[test]
fn says_where_its_number_comes_from() {
    for law in laws() {
        assert!(!law.basis().detail().is_empty());
        assert!(law.area() > 0.0 && law.area().is_finite() && law.thickness() >= 0.0, "{law:?}");
    }
}
