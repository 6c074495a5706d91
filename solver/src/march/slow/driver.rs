//! The driver: what happens at an instant rather than by itself. Throttle, clutch, gears, and the end of a roll-on.

use super::march::Slow;
use crate::error::{Error, RunError};
use crate::march::Observer;
use crate::network::Drive;
use crate::powertrain::{Load, Powertrain};

/// Throttles between which the one is sought that keeps a road speed.
const THROTTLES: [f64; 2] = [0.05, 1.0];
/// Torque that may be left over when the car cruises [N m]: what it leaves of the time of a roll-on must be less than what a study of
/// neighbouring cases looks for.
const CRUISES: f64 = 1e-5;
/// Most trials of a throttle.
const MOST_TRIALS: usize = 20;
/// Share of a speed within which it is reached.
const REACHED: f64 = 1e-6;
/// Shortest time to an event that a step is cut for [s].
const SHORTEST: f64 = 1e-4;

/// What comes next.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Event {
    Shift,
    Clutch,
    End,
}

/// Throttles that have been tried, and the torque that they leave.
#[derive(Default)]
struct Trials {
    /// The nearest with too little torque and the nearest with too much [N m].
    ends: [Option<(f64, f64)>; 2],
    /// Side on which the last trial lay.
    last: Option<usize>,
}

impl Trials {
    /// The middle of what is left until both signs have been seen; then Illinois' form of the false position (Dowell and Jarratt 1971).
    fn next(&self) -> f64 {
        match self.ends {
            [Some((low, below)), Some((high, above))] => high - above * (high - low) / (above - below),
            ends => {
                let end = |side: usize| ends[side].map_or(THROTTLES[side], |end| end.0);
                0.5 * (end(0) + end(1))
            }
        }
    }

    fn note(&mut self, throttle: f64, left: f64) {
        let side = usize::from(left > 0.0);
        if let (Some(last), Some(other)) = (self.last, &mut self.ends[1 - side])
            && last == side
        {
            other.1 *= 0.5;
        }
        self.ends[side] = Some((throttle, left));
        self.last = Some(side);
    }
}

impl<'a> Slow<'a> {
    fn drive(&self) -> Option<&'a Drive> {
        self.network().drive.as_ref()
    }

    /// Goes to the steady state from which the driver sets off: at the crank's first speed, and on the road with the throttle that keeps
    /// the car's.
    ///
    /// # Errors
    /// None is found.
    pub fn settle_before_start(&mut self) -> Result<(), RunError> {
        let on_road = self.drive().is_some_and(|drive| matches!(drive.powertrain.load, Load::Road { .. }));
        if !on_road {
            return self.settle();
        }
        let mut trials = Trials::default();
        for _ in 0..MOST_TRIALS {
            let throttle = trials.next();
            Powertrain::set(self.drive_states(), throttle, true);
            self.settle()?;
            let left = self.torque_left();
            if left.abs() < CRUISES {
                break;
            }
            trials.note(throttle, left);
        }
        Ok(())
    }

    /// Torque beyond what keeps the road speed [N m].
    fn torque_left(&self) -> f64 {
        let (network, y, work) = self.instant();
        match (&network.drive, network.standing(y, work)) {
            (Some(drive), Some(standing)) => {
                standing.torque - drive.powertrain.cruising_torque(network.drive_states(y))
            }
            _ => 0.0,
        }
    }

    /// The driver opens the throttle as the point says, and lets the crank go where the point moves it.
    ///
    /// # Errors
    /// The state is not one.
    pub fn set_off(&mut self) -> Result<(), RunError> {
        let Some(drive) = self.drive() else { return Ok(()) };
        let throttle = drive.powertrain.throttle;
        let held = drive.powertrain.load == Load::Brake(0.0);
        Powertrain::set(self.drive_states(), throttle, held);
        self.start()
    }

    /// What the driver does next, and in what time [s], as fast as the crank turns faster now.
    fn next_event(&self) -> Option<(Event, f64)> {
        let drive = self.drive()?;
        let powertrain = &drive.powertrain;
        let (Load::Road { until }, Some(vehicle)) = (powertrain.load, &powertrain.vehicle) else { return None };
        let (network, y, _) = self.instant();
        let states = network.drive_states(y);
        if Powertrain::shifting(states) {
            return Some((Event::Clutch, (self.clutch_closes - self.clock.time).max(0.0)));
        }
        let (gear, crank, rate) = (Powertrain::gear(states), Powertrain::crank(states), self.crank_rate());
        let time_to = |speed: f64| {
            if crank >= speed * (1.0 - REACHED) { 0.0 } else { (speed - crank) / rate.max(f64::MIN_POSITIVE) }
        };
        let end = (Event::End, time_to(vehicle.engine_speed(until, gear - 1)));
        let shift = (Event::Shift, time_to(vehicle.shift_speed));
        Some(if gear < vehicle.gears.len() && shift.1 < end.1 { shift } else { end })
    }

    /// Whether the roll-on is driven in the other direction too: where slope or wind make them differ, and it has not been yet.
    fn drives_back(&self) -> bool {
        let (network, y, _) = self.instant();
        network.drive.as_ref().is_some_and(|drive| {
            let road = drive.powertrain.surroundings.road;
            Powertrain::on_the_way_out(network.drive_states(y)) && (road.slope.abs() > 0.0 || road.wind.abs() > 0.0)
        })
    }

    fn turn_round(&mut self) -> Result<(), RunError> {
        let Some(drive) = self.drive() else { return Ok(()) };
        drive.powertrain.turn_round(self.drive_states());
        let step = self.clock.step;
        self.settle_before_start()?;
        self.clock.step = step;
        self.begin_anew()?;
        self.set_off()
    }

    /// Time [s] until which the march may go before the driver does something.
    pub(super) fn until_event(&self) -> f64 {
        self.next_event().map_or(f64::INFINITY, |(_, time)| self.clock.time + time.max(SHORTEST))
    }

    /// The driver does what is due; answers whether the run is at its end.
    ///
    /// # Errors
    /// The state is not one, or the observer could not go on.
    pub(super) fn act(&mut self, observer: &mut dyn Observer<Self>) -> Result<bool, Error> {
        match self.next_event() {
            Some((Event::End, time)) if time <= 0.0 => {
                self.record_now(observer)?;
                if !self.drives_back() {
                    return Ok(true);
                }
                self.turn_round()?;
            }
            Some((Event::Shift, time)) if time <= 0.0 => {
                let Some(drive) = self.drive() else { return Ok(false) };
                drive.powertrain.shift(self.drive_states());
                let pause = drive.powertrain.vehicle.as_ref().map_or(0.0, |vehicle| vehicle.shift_time);
                self.clutch_closes = self.clock.time + pause;
                self.begin_anew()?;
            }
            Some((Event::Clutch, time)) if time <= SHORTEST => {
                Powertrain::close_clutch(self.drive_states());
                self.begin_anew()?;
            }
            _ => {}
        }
        Ok(false)
    }
}
