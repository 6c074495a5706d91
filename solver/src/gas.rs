//! The gas: moist air, or any calorically perfect ideal gas that a case asks for.
//!
//! Owns the thermodynamic and transport properties and the isentropic relations. Knows nothing of ducts or of time.

/// Standard gravity [m/s^2]. ISO 80000-3.
pub const STANDARD_GRAVITY: f64 = 9.806_65;

/// Specific gas constant of dry air [J/(kg K)]. US Standard Atmosphere 1976.
pub const DRY_AIR_GAS_CONSTANT: f64 = 287.052_87;
/// Specific gas constant of water vapour [J/(kg K)]. IAPWS, R/M with M = 18.015 268 g/mol.
pub const WATER_VAPOUR_GAS_CONSTANT: f64 = 461.523;
/// Isobaric heat capacity of dry air near 300 K [J/(kg K)]: 3.5 R, that is gamma = 1.4.
const DRY_AIR_HEAT_CAPACITY: f64 = 3.5 * DRY_AIR_GAS_CONSTANT;
/// Isobaric heat capacity of water vapour near 300 K [J/(kg K)]. From memory of steam tables, within 1 %.
const WATER_VAPOUR_HEAT_CAPACITY: f64 = 1_864.0;
/// Prandtl number of air near 300 K. Incropera et al., Fundamentals of Heat and Mass Transfer, table A.4.
pub const PRANDTL_NUMBER: f64 = 0.71;

/// `(1 + x)^n` for a fixed `n`: a series near one, where joints spend their time, and `pow` elsewhere.
///
/// The series is summed to the twelfth power; within [`NearOnePower::SERIES_REACH`] its remainder lies below round-off, so that
/// the two branches meet without a step that Newton could feel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearOnePower {
    exponent: f64,
    coefficients: [f64; 12],
}

impl NearOnePower {
    /// Largest |x| for which the series is used.
    const SERIES_REACH: f64 = 0.03;
    /// Largest |x| for which the first terms of the series reach round-off.
    const SHORT_REACH: f64 = 0.003;
    /// Their number.
    const SHORT_TERMS: usize = 6;

    /// Prepares the binomial coefficients of `exponent`.
    #[must_use]
    pub fn new(exponent: f64) -> Self {
        let mut coefficients = [0.0; 12];
        let mut term = 1.0;
        let mut order = 0.0;
        for coefficient in &mut coefficients {
            term *= (exponent - order) / (order + 1.0);
            order += 1.0;
            *coefficient = term;
        }
        Self { exponent, coefficients }
    }

    #[inline]
    fn series(&self, x: f64, terms: usize) -> f64 {
        let mut sum = 0.0;
        for coefficient in self.coefficients[..terms].iter().rev() {
            sum = (sum + coefficient) * x;
        }
        sum
    }

    /// `(1 + x)^n`; `x` must exceed -1.
    #[inline]
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        if x.abs() <= Self::SHORT_REACH {
            1.0 + self.series(x, Self::SHORT_TERMS)
        } else if x.abs() <= Self::SERIES_REACH {
            1.0 + self.series(x, self.coefficients.len())
        } else {
            libm::pow(1.0 + x, self.exponent)
        }
    }
}

/// A calorically perfect ideal gas with Sutherland's transport properties.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gas {
    /// Ratio of specific heats.
    pub gamma: f64,
    /// Specific gas constant [J/(kg K)].
    pub gas_constant: f64,
    /// Isobaric heat capacity [J/(kg K)].
    pub heat_capacity: f64,
    /// Prandtl number.
    pub prandtl: f64,
    /// Constant viscosity [Pa s] in place of Sutherland's law, for cases made to meet a closed form.
    pub fixed_viscosity: Option<f64>,
    pressure_of_temperature: NearOnePower,
    density_of_temperature: NearOnePower,
    pressure_of_sound_speed: NearOnePower,
}

/// State of a stream of known mass flow in a section of known area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Static pressure [Pa].
    pub pressure: f64,
    /// Static temperature [K].
    pub temperature: f64,
    /// Density [kg/m^3].
    pub density: f64,
    /// Speed [m/s], not negative.
    pub speed: f64,
    /// Total pressure [Pa] that this state has; above the one asked for when the section chokes.
    pub total_pressure: f64,
}

impl Gas {
    /// A gas from its ratio of specific heats and its gas constant [J/(kg K)].
    #[must_use]
    pub fn new(gamma: f64, gas_constant: f64) -> Self {
        let over = gamma / (gamma - 1.0);
        Self {
            gamma,
            gas_constant,
            heat_capacity: gas_constant * over,
            prandtl: PRANDTL_NUMBER,
            fixed_viscosity: None,
            pressure_of_temperature: NearOnePower::new(over),
            density_of_temperature: NearOnePower::new(1.0 / (gamma - 1.0)),
            pressure_of_sound_speed: NearOnePower::new(2.0 * over),
        }
    }

    /// Dry air: gamma 1.4 and the gas constant of the US Standard Atmosphere 1976.
    #[must_use]
    pub fn dry_air() -> Self {
        Self::new(1.4, DRY_AIR_GAS_CONSTANT)
    }

    /// Moist air at `pressure` [Pa], `temperature` [K] and `relative_humidity` [0..1]: an ideal mixture of dry air and vapour.
    #[must_use]
    pub fn moist_air(pressure: f64, temperature: f64, relative_humidity: f64) -> Self {
        let vapour_pressure = (relative_humidity * saturation_pressure(temperature)).min(0.9 * pressure);
        let vapour_density = vapour_pressure / WATER_VAPOUR_GAS_CONSTANT;
        let dry_density = (pressure - vapour_pressure) / DRY_AIR_GAS_CONSTANT;
        let vapour_share = vapour_density / (vapour_density + dry_density);
        let gas_constant = DRY_AIR_GAS_CONSTANT + vapour_share * (WATER_VAPOUR_GAS_CONSTANT - DRY_AIR_GAS_CONSTANT);
        let heat_capacity = DRY_AIR_HEAT_CAPACITY + vapour_share * (WATER_VAPOUR_HEAT_CAPACITY - DRY_AIR_HEAT_CAPACITY);
        Self::new(heat_capacity / (heat_capacity - gas_constant), gas_constant)
    }

    /// Fall of pressure with height [Pa/m] in still air of `pressure` [Pa] and `temperature` [K].
    #[must_use]
    pub fn fall_with_height(&self, pressure: f64, temperature: f64) -> f64 {
        STANDARD_GRAVITY * pressure / (self.gas_constant * temperature)
    }

    /// Speed of sound [m/s] at `temperature` [K].
    #[inline]
    #[must_use]
    pub fn sound_speed(&self, temperature: f64) -> f64 {
        (self.gamma * self.gas_constant * temperature).sqrt()
    }

    /// Dynamic viscosity [Pa s] at `temperature` [K]. Sutherland's law with the constants of the US Standard Atmosphere 1976.
    #[inline]
    #[must_use]
    pub fn viscosity(&self, temperature: f64) -> f64 {
        self.fixed_viscosity.unwrap_or_else(|| {
            let [above, below] = sutherland(temperature, temperature.sqrt());
            above / below
        })
    }

    /// Thermal conductivity [W/(m K)] at `temperature` [K], from the viscosity and the Prandtl number.
    #[inline]
    #[must_use]
    pub fn conductivity(&self, temperature: f64) -> f64 {
        self.viscosity(temperature) * self.heat_capacity / self.prandtl
    }

    /// `p / p_ref` on an isentrope on which the temperature is `1 + x` times the reference.
    #[inline]
    #[must_use]
    pub fn pressure_ratio_of_temperature_rise(&self, x: f64) -> f64 {
        self.pressure_of_temperature.at(x)
    }

    /// `rho / rho_ref` on an isentrope on which the temperature is `1 + x` times the reference.
    #[inline]
    #[must_use]
    pub fn density_ratio_of_temperature_rise(&self, x: f64) -> f64 {
        self.density_of_temperature.at(x)
    }

    /// `p / p_ref` on an isentrope on which the speed of sound is `1 + x` times the reference.
    #[inline]
    #[must_use]
    pub fn pressure_ratio_of_sound_speed_rise(&self, x: f64) -> f64 {
        self.pressure_of_sound_speed.at(x)
    }

    /// Total pressure [Pa] of a state of static `pressure` [Pa], `temperature` [K] and `speed` [m/s].
    #[inline]
    #[must_use]
    pub fn total_pressure(&self, pressure: f64, temperature: f64, speed: f64) -> f64 {
        pressure * self.pressure_ratio_of_temperature_rise(0.5 * speed * speed / (self.heat_capacity * temperature))
    }

    /// Speed [m/s] at which a stream of `total_temperature` [K] is sonic.
    #[inline]
    #[must_use]
    pub fn critical_speed(&self, total_temperature: f64) -> f64 {
        (2.0 * self.gamma * self.gas_constant * total_temperature / (self.gamma + 1.0)).sqrt()
    }

    /// Largest `m sqrt(R T0) / (A p0)`, reached at Mach one. NACA Report 1135, eq. 100 ff.
    #[must_use]
    pub fn choking_flow_function(&self) -> f64 {
        self.gamma.sqrt() * libm::pow(2.0 / (self.gamma + 1.0), 0.5 * (self.gamma + 1.0) / (self.gamma - 1.0))
    }

    /// The subsonic state with which `mass_flow` [kg/s, >= 0] of `total_temperature` [K] passes `area` [m^2] at static `pressure`
    /// [Pa]. When that needs more than the speed of sound the state is sonic and its pressure lies above the one asked for.
    #[inline]
    #[must_use]
    pub fn section_at_static(&self, mass_flow: f64, total_temperature: f64, area: f64, pressure: f64) -> Section {
        // Continuity m = p A V / (R T) with T = T0 - V^2 / (2 cp) is a quadratic in V; this form of its root is exact at zero flow.
        let force = pressure * area;
        let flow_energy = mass_flow * self.gas_constant * total_temperature;
        let root =
            (force * force + 2.0 * flow_energy * mass_flow * self.gas_constant / self.heat_capacity).sqrt() + force;
        let speed = 2.0 * flow_energy / root;
        let critical = self.critical_speed(total_temperature);
        let (speed, pressure) = if speed < critical {
            (speed, pressure)
        } else {
            let temperature = total_temperature - 0.5 * critical * critical / self.heat_capacity;
            (critical, mass_flow * self.gas_constant * temperature / (area * critical))
        };
        self.section(pressure, total_temperature, speed)
    }

    /// The subsonic state with which `mass_flow` [kg/s, >= 0] passes `area` [m^2] at `total_pressure` [Pa] and `total_temperature`
    /// [K]. When `area` cannot pass that flow the state is sonic and its total pressure lies above the one asked for.
    #[inline]
    #[must_use]
    pub fn section_at_total(&self, mass_flow: f64, total_temperature: f64, area: f64, total_pressure: f64) -> Section {
        let total_density = total_pressure / (self.gas_constant * total_temperature);
        let flux = mass_flow / (area * total_density);
        let critical = self.critical_speed(total_temperature);
        // rho(V) V = G with rho isentropic, by Newton from the first terms of V in G^2, which lie below the subsonic root.
        let heat = 2.0 * self.heat_capacity * total_temperature;
        let stiffness = 1.0 / (self.gamma - 1.0);
        let expansion = flux * flux / heat;
        let mut speed = flux * (1.0 + stiffness * expansion * (1.0 + (2.5 * stiffness + 0.5) * expansion));
        for _ in 0..40 {
            if speed >= critical {
                return self.section_choked(mass_flow, total_temperature, area);
            }
            let fall = -speed * speed / heat;
            let density = self.density_ratio_of_temperature_rise(fall);
            let slope = density * (1.0 + 2.0 * fall / ((1.0 + fall) * (self.gamma - 1.0)));
            if slope <= 0.0 {
                return self.section_choked(mass_flow, total_temperature, area);
            }
            let change = (flux - density * speed) / slope;
            speed += change;
            // Newton's next change would be the square of this one.
            if change.abs() <= 1e-8 * speed.abs() {
                break;
            }
        }
        if speed >= critical {
            return self.section_choked(mass_flow, total_temperature, area);
        }
        let fall = -speed * speed / heat;
        let density = total_density * self.density_ratio_of_temperature_rise(fall);
        let temperature = total_temperature * (1.0 + fall);
        Section { pressure: density * self.gas_constant * temperature, temperature, density, speed, total_pressure }
    }

    fn section_choked(&self, mass_flow: f64, total_temperature: f64, area: f64) -> Section {
        let critical = self.critical_speed(total_temperature);
        let temperature = total_temperature - 0.5 * critical * critical / self.heat_capacity;
        self.section(mass_flow * self.gas_constant * temperature / (area * critical), total_temperature, critical)
    }

    fn section(&self, pressure: f64, total_temperature: f64, speed: f64) -> Section {
        let temperature = total_temperature - 0.5 * speed * speed / self.heat_capacity;
        Section {
            pressure,
            temperature,
            density: pressure / (self.gas_constant * temperature),
            speed,
            total_pressure: self.total_pressure(pressure, temperature, speed),
        }
    }
}

/// Dynamic viscosity of air [Pa s] at `temperature` [K], whose square root is `root`, as numerator and denominator. Sutherland's law
/// with the constants of the US Standard Atmosphere 1976. For loops that have the root already and divide by the viscosity too; all
/// others ask [`Gas::viscosity`].
#[inline(always)]
pub(crate) fn sutherland(temperature: f64, root: f64) -> [f64; 2] {
    [1.458e-6 * temperature * root, temperature + 110.4]
}

/// Saturation pressure of water [Pa] at `temperature` [K]. Buck (1996), as in the reference table of humid air.
#[must_use]
pub fn saturation_pressure(temperature: f64) -> f64 {
    let celsius = temperature - 273.15;
    611.21 * libm::exp((18.678 - celsius / 234.5) * celsius / (257.14 + celsius))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn series_and_pow_meet() {
        for exponent in [2.5, 3.5, 7.0, 7.013] {
            let power = NearOnePower::new(exponent);
            for x in [-0.03, -0.012, -0.003, 0.0, 1e-9, 0.003, 0.0031, 0.02, 0.03_f64] {
                let exact = libm::pow(1.0 + x, exponent);
                assert!((power.at(x) / exact - 1.0).abs() < 1e-15, "{exponent} {x}");
            }
        }
    }

    #[test]
    fn sections_from_static_and_total_agree() {
        let gas = Gas::dry_air();
        for mass_flow in [0.0, 1e-12, 0.05, 0.3, 0.8] {
            let from_static = gas.section_at_static(mass_flow, 300.0, 0.004, 9e4);
            let from_total = gas.section_at_total(mass_flow, 300.0, 0.004, from_static.total_pressure);
            assert!((from_static.pressure / from_total.pressure - 1.0).abs() < 1e-10, "{mass_flow}");
        }
    }

    #[test]
    fn a_section_that_cannot_pass_the_flow_is_sonic() {
        let gas = Gas::dry_air();
        let area = 0.004;
        let most = gas.choking_flow_function() * area * 1e5 / (gas.gas_constant * 300.0).sqrt();
        let section = gas.section_at_total(1.1 * most, 300.0, area, 1e5);
        assert!((section.total_pressure / 1.1e5 - 1.0).abs() < 1e-9);
        assert!((section.speed / gas.sound_speed(section.temperature) - 1.0).abs() < 1e-12);
    }
}
