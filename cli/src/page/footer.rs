//! What stands at the end of a page: what may hurt someone.

use maud::{Markup, html};

/// Cautions of the job; local codes and licensed practice come first.
const CAUTIONS: [&str; 8] = [
    "These are predictions with the spread of handbook losses; nothing here is validated on your car. Measure the weakest input first.",
    "Turbines and manifolds run above 700 degC and heat what is near them long after the engine stops.",
    "Compressors are rotating machines: anything loose on the clean side destroys a wheel, and so does overspeed. Keep to their limits of speed and \
     surge, and to the knock limit of the engine, at altitude too.",
    "A dyno needs rated restraint, nobody in line with the rollers, extraction and a carbon monoxide alarm.",
    "Roll-ons belong on closed roads or proving grounds, with a second person at the gauges.",
    "Another restriction changes what the air meter reads, the mixture and the boost. Look at the efficiency of a filter (ISO 5011) beside its loss.",
    "Low scoops take in water; resins soften: mind the glass transition.",
    "Emissions, noise and road law differ by market. Local codes and licensed practice come first; this page is no evidence of compliance.",
];

/// The section.
pub(super) fn cautions() -> Markup {
    html! {
        section id="cautions" {
            h2 { "Cautions" }
            ul class="verdicts" { @for caution in CAUTIONS { li { (caution) } } }
        }
    }
}
