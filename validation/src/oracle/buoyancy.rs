//! Air that warmth drives through openings.

/// Standard gravity [m/s^2]. ISO 80000-3.
const GRAVITY: f64 = 9.806_65;

/// Mass flow [kg/s] that rises through a space by two openings in series, when the air outside and inside has these `densities` [kg/m^3] and the
/// effective `areas` [m^2] of the lower and the upper opening lie `height` [m] apart.
///
/// The weight of the column, `(rho_out - rho_in) g h`, is spent on the two jets, `m^2 / (2 rho (Cd A)^2)` each, the lower one of outside air, the
/// upper one of inside air.
#[must_use]
pub fn stack_flow(densities: [f64; 2], areas: [f64; 2], height: f64) -> f64 {
    let drive = (densities[0] - densities[1]) * GRAVITY * height;
    let resistance: f64 = densities.iter().zip(areas).map(|(density, area)| 1.0 / (2.0 * density * area * area)).sum();
    (drive / resistance).sqrt()
}

/// Mass flow [kg/s] each way through one upright opening of effective `area` [m^2] and this `height` [m] between airs of these `densities`
/// [kg/m^3], the heavier one first.
///
/// Bernoulli's speed at each height from the neutral plane, `sqrt(2 drho g z / rho)`, integrated; the plane lies where as much comes in as
/// goes out. For small differences `Cd A / 3 sqrt(g H drho rho)`.
#[must_use]
pub fn exchange_flow(densities: [f64; 2], area: f64, height: f64) -> f64 {
    let [heavy, light] = densities;
    let below = height / (1.0 + (heavy / light).cbrt());
    let width = area / height;
    2.0 / 3.0 * width * (2.0 * heavy * GRAVITY * (heavy - light)).sqrt() * below.powf(1.5)
}
