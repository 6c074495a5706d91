//! Which layout is better, and by which booking of the ledgers.

use super::Layout;
use super::class::Class;
use super::noise::{RECOVERY, THERMOCOUPLE};
use crate::print::number::{fixed, kilopascals, signed};

/// Mark of a difference that no test would show.
pub(crate) const UNMEASURABLE: &str = "~";

/// The mark of a recovery that differs by `difference`.
pub(crate) fn recovery_mark(difference: f64) -> &'static str {
    if difference.abs() < RECOVERY { UNMEASURABLE } else { "" }
}

/// The mark of a temperature that differs by `difference` [K].
pub(crate) fn temperature_mark(difference: f64) -> &'static str {
    if difference.abs() < THERMOCOUPLE { UNMEASURABLE } else { "" }
}

/// What the mark means.
pub(crate) fn legend() -> String {
    format!(
        "{UNMEASURABLE} no gain you could measure: recovery within {} % (what a careful day on the dyno repeats; common practice), \
         temperature within {THERMOCOUPLE} K (thermocouple type K, class 1).",
        fixed(100.0 * RECOVERY, 0)
    )
}

/// Layouts by recovery, the best first.
pub(crate) fn by_recovery(layouts: &[Layout]) -> Vec<&Layout> {
    let mut ranked: Vec<&Layout> = layouts.iter().collect();
    ranked.sort_by(|a, b| b.recovery.total_cmp(&a.recovery));
    ranked
}

/// Layouts by temperature, the coolest first.
pub(crate) fn by_temperature(layouts: &[Layout]) -> Vec<&Layout> {
    let mut ranked: Vec<&Layout> = layouts.iter().collect();
    ranked.sort_by(|a, b| a.total_temperature.total_cmp(&b.total_temperature));
    ranked
}

/// Why `layout` recovers less than `best`: the class whose loss differs most, and the booking in it.
pub(crate) fn less_recovery(layout: &Layout, best: &Layout) -> String {
    let more = |class: &Class| layout.class(*class) - best.class(*class);
    let Some(class) = Class::ALL.into_iter().max_by(|a, b| more(a).total_cmp(&more(b))) else { return String::new() };
    if more(&class) <= 0.0 {
        return "the same losses".to_owned();
    }
    let largest = |layout: &Layout| {
        let own = layout.losses.iter().filter(|loss| loss.class == class);
        own.max_by(|a, b| a.lost.total_cmp(&b.lost)).map_or_else(
            || "nothing".to_owned(),
            |loss| format!("{} {}{}", loss.label, kilopascals(loss.lost), if loss.assumed { " ASSUMED" } else { "" }),
        )
    };
    format!(
        "{} kPa more in {} (largest: {} against {})",
        kilopascals(more(&class)),
        class.words(),
        largest(layout),
        largest(best)
    )
}

/// Why the air of `layout` is warmer than that of `best`: the cause whose rise differs most.
pub(crate) fn warmer(layout: &Layout, best: &Layout) -> String {
    let rise = |layout: &Layout, cause: &str| {
        layout.heat.iter().filter(|heat| heat.0 == cause).map(|heat| heat.1).sum::<f64>()
    };
    let causes = layout.heat.iter().chain(&best.heat).map(|heat| heat.0.as_str());
    let more = |cause: &str| rise(layout, cause) - rise(best, cause);
    match causes.max_by(|a, b| more(a).total_cmp(&more(b))) {
        Some(cause) if more(cause) > 0.0 => format!(
            "{cause} warms it by {} K more ({} against {} K)",
            fixed(more(cause), 2),
            signed(rise(layout, cause), 2),
            signed(rise(best, cause), 2)
        ),
        _ => "nothing in its heat ledger warms it more".to_owned(),
    }
}
