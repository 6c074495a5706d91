//! The life of filters as tables and sentences.

use super::Life;
use crate::print::number::{celsius, fixed, kilopascals, trimmed};
use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH};
use tractwright::study::filter_life::Age;
use tractwright::study::{Of, Quantity};

/// Everything.
pub(super) fn of(life: &Life) -> String {
    let mut text = format!("{} at {}, all filters filled in step\n", life.case, life.point);
    text.push_str(&format!("{}\n", whole(life).render()));
    for filter in 0..life.filters.len() {
        text.push_str(&format!("{}\n", table(life, filter).render()));
        wrap(&sentence(life, filter), WIDTH).iter().for_each(|line| text.push_str(&format!("{line}\n")));
        text.push('\n');
    }
    wrap(BASIS, WIDTH).iter().for_each(|line| text.push_str(&format!("{line}\n")));
    text
}

const BASIS: &str = "Drop: total pressure lost in the filter at the flow of this point. Dust passed: by its initial and its \
                     cumulative efficiency of ISO 5011, between which the share that passes falls exponentially (common practice, no source); test dust is not road dust, and the efficiency of an \
                     element says nothing of its seal. Look at both: a filter that loses little may let much through.";

/// What the draws get.
fn whole(life: &Life) -> Table {
    let quantities =
        [Quantity::Recovery, Quantity::TotalPressure, Quantity::MassFlow, Quantity::InletTemperature, Quantity::Power];
    let there: Vec<Quantity> =
        quantities.into_iter().filter(|quantity| life.ages[0].figures.value(*quantity, &Of::Whole).is_some()).collect();
    let head = |quantity: &Quantity| match quantity {
        Quantity::Recovery => "recovery",
        Quantity::TotalPressure => "total p02, kPa",
        Quantity::MassFlow => "flow, g/s",
        Quantity::InletTemperature => "T02, degC",
        _ => "power, kW",
    };
    let cell = |quantity: Quantity, value: f64| match quantity {
        Quantity::Recovery => fixed(value, 4),
        Quantity::TotalPressure => kilopascals(value),
        Quantity::InletTemperature => celsius(value),
        Quantity::MassFlow => fixed(1e3 * value, 1),
        _ => fixed(1e-3 * value, 1),
    };
    let row = |age: &Age| {
        let values = there.iter().map(|quantity| {
            age.figures.value(*quantity, &Of::Whole).map_or("-".to_owned(), |value| cell(*quantity, value))
        });
        Row::new(format!("{} %", fixed(100.0 * age.share, 0)), values.collect())
    };
    let heads = there.iter().map(|quantity| head(quantity).to_owned()).collect();
    Table { head: Row::new("of their life", heads), rows: life.told().map(row).collect() }
}

fn table(life: &Life, filter: usize) -> Table {
    let about = &life.filters[filter];
    let head = ["drop, Pa", "rise, Pa", "keeps now, %", "dust passed, g"].map(str::to_owned).to_vec();
    let clean = life.ages[0].filters[filter][0];
    let row = |age: &Age| {
        let mass = age.share * about.capacity;
        let drop = age.filters[filter][0];
        let passed = about.passed(mass);
        let cells = vec![
            fixed(drop, 0),
            fixed(drop - clean, 0),
            about.keeps(mass).map_or("-".to_owned(), |keeps| fixed(100.0 * keeps, 2)),
            passed.map_or("-".to_owned(), |passed| fixed(1e3 * passed, 2)),
        ];
        Row::new(format!("{} g", trimmed(1e3 * mass, 1)), cells)
    };
    Table { head: Row::new(format!("dust fed to {}", about.part), head), rows: life.told().map(row).collect() }
}

fn sentence(life: &Life, filter: usize) -> String {
    let about = &life.filters[filter];
    let dust = about.dust.as_ref().map_or(String::new(), |dust| format!(" Efficiencies with {dust} test dust."));
    let lasts = |mass: f64| {
        let time = life.time_to(filter, mass).zip(life.dust);
        time.map_or(String::new(), |(time, dust)| {
            format!(", {} hours at this flow with {} mg/m3 of dust", fixed(time / 3600.0, 0), trimmed(1e6 * dust, 3))
        })
    };
    let change = match (about.service_limit, life.change_at(filter)) {
        (Some(limit), Some(mass)) => format!(
            "{} rises by {} kPa, its service limit, at {} g of dust{}.",
            about.part,
            trimmed(1e-3 * limit, 2),
            fixed(1e3 * mass, 0),
            lasts(mass)
        ),
        (Some(limit), None) => format!(
            "{} does not come to its service limit, a rise of {} kPa, within {} g of dust{}.",
            about.part,
            trimmed(1e-3 * limit, 2),
            fixed(1e3 * about.capacity, 0),
            lasts(about.capacity)
        ),
        (None, _) => format!(
            "{} takes {} g of dust{}; it has no `service_limit`.",
            about.part,
            fixed(1e3 * about.capacity, 0),
            lasts(about.capacity)
        ),
    };
    change + &dust
}
