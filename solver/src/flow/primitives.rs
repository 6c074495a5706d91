//! From the conserved rows of the state to density, velocity and pressure.

use super::arena::{Arena, FLOW_ROWS};
use super::dispatch::Pass;
use super::row::Row;
use super::state::{DuctId, Primitive};
use super::work::Work;
use std::ops::Range;

/// A cell that left the range in which the equations mean anything.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fault {
    /// Its duct.
    pub duct: DuctId,
    /// The cell, from 0 at the first end.
    pub cell: usize,
    /// What left its range: `density` or `pressure`.
    pub quantity: &'static str,
    /// Its value, in SI.
    pub value: f64,
}

impl Arena {
    /// Finds density, velocity, pressure and scalars of all cells from the flat state.
    ///
    /// # Errors
    /// The first cell whose density or pressure is not a finite number above zero.
    pub fn primitives(&self, y: &[f64], work: &mut Work) -> Result<(), Fault> {
        let Work { cell, sound_speed, .. } = work;
        let sound = self.instruction_set.run(Primitives {
            y,
            slots: self.slots,
            inner: self.inner.clone(),
            gamma: self.gas.gamma,
            density: &mut cell.density,
            velocity: &mut cell.velocity,
            pressure: &mut cell.pressure,
            sound_speed,
        });
        for (scalar, row) in work.scalar.iter_mut().enumerate() {
            let carried = &y[(FLOW_ROWS + scalar) * self.slots..][..self.slots];
            self.instruction_set.run(Quotient { inner: self.inner.clone(), carried, density: &work.cell.density, row });
        }
        if sound { Ok(()) } else { Err(self.find_fault(&work.cell)) }
    }

    #[cold]
    fn find_fault(&self, cell: &Primitive<Row>) -> Fault {
        let sound = |value: f64| value > 0.0 && value < f64::INFINITY;
        for duct in self.ducts() {
            for (index, slot) in self.slots_of(duct).enumerate() {
                let Primitive { density, pressure, .. } = cell.at(slot);
                if !sound(density) {
                    return Fault { duct, cell: index, quantity: "density", value: density };
                }
                if !sound(pressure) {
                    return Fault { duct, cell: index, quantity: "pressure", value: pressure };
                }
            }
        }
        // Only a ghost slot can be left, and these never change unless the caller overwrote them.
        Fault { duct: DuctId(0), cell: 0, quantity: "density", value: f64::NAN }
    }
}

struct Primitives<'a> {
    y: &'a [f64],
    slots: usize,
    inner: Range<usize>,
    gamma: f64,
    density: &'a mut [f64],
    velocity: &'a mut [f64],
    pressure: &'a mut [f64],
    sound_speed: &'a mut [f64],
}

impl Pass for Primitives<'_> {
    /// Whether all densities and pressures are finite numbers above zero.
    type Output = bool;

    #[inline(always)]
    fn run(self) -> bool {
        let inner = self.inner;
        let n = inner.len();
        let row = |row: usize| &self.y[row * self.slots..][inner.clone()][..n];
        let (mass, momentum, energy) = (row(0), row(1), row(2));
        let (density, velocity) = (&mut self.density[inner.clone()][..n], &mut self.velocity[inner.clone()][..n]);
        let (pressure, sound_speed) =
            (&mut self.pressure[inner.clone()][..n], &mut self.sound_speed[inner.clone()][..n]);
        let mut worst = 0;
        for i in 0..n {
            let over = 1.0 / mass[i];
            let u = momentum[i] * over;
            let p = (self.gamma - 1.0) * (energy[i] - 0.5 * momentum[i] * u);
            density[i] = mass[i];
            velocity[i] = u;
            pressure[i] = p;
            sound_speed[i] = (self.gamma * p * over).sqrt();
            worst = worst.max(unsound(mass[i])).max(unsound(p));
        }
        worst < unsound(f64::INFINITY)
    }
}

/// A measure that is least for finite numbers above zero: the bits of numbers above zero are in the order of the numbers, and those of
/// infinity, of what is not a number, of all numbers below zero, and, less one, of zero itself come behind.
#[inline(always)]
fn unsound(value: f64) -> u64 {
    value.to_bits().wrapping_sub(1)
}

struct Quotient<'a> {
    inner: Range<usize>,
    carried: &'a [f64],
    density: &'a [f64],
    row: &'a mut [f64],
}

impl Pass for Quotient<'_> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let inner = self.inner;
        let n = inner.len();
        let (carried, density) = (&self.carried[inner.clone()][..n], &self.density[inner.clone()][..n]);
        let row = &mut self.row[inner.clone()][..n];
        for i in 0..n {
            row[i] = carried[i] / density[i];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::unsound;

    #[test]
    fn finite_numbers_above_zero_are_sound() {
        let limit = unsound(f64::INFINITY);
        for value in [f64::from_bits(1), f64::MIN_POSITIVE, 1.2, 1e5, f64::MAX] {
            assert!(unsound(value) < limit, "{value}");
        }
        for value in [0.0, -0.0, -1.2, f64::MIN, f64::INFINITY, f64::NEG_INFINITY, f64::NAN, -f64::NAN] {
            assert!(unsound(value) >= limit, "{value}");
        }
    }
}
