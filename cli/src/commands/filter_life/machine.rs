//! The life of filters for programs: JSON and CSV, SI units.

use super::Life;
use crate::commands::write_failed;
use crate::failure::Failure;
use serde_json::json;
use std::io::Write;

/// Version of the form of both outputs; it rises when a key changes its meaning.
const SCHEMA: u32 = 1;

/// Writes one document.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn json(life: &Life, out: &mut dyn Write) -> Result<(), Failure> {
    let filters = life.filters.iter().enumerate().map(|(number, filter)| {
        let ages = life.told().map(|age| {
            let mass = age.share * filter.capacity;
            let [drop, flow] = age.filters[number];
            json!({ "dust": mass, "drop": drop, "mass_flow": flow, "dust_passed": filter.passed(mass) })
        });
        json!({
            "part": filter.part,
            "capacity": filter.capacity,
            "efficiency": filter.efficiency,
            "test_dust": filter.dust,
            "service_limit": filter.service_limit,
            "change_at": life.change_at(number),
            "time_to_change": life.change_at(number).and_then(|mass| life.time_to(number, mass)),
            "ages": ages.collect::<Vec<_>>(),
        })
    });
    let ages = life.told().map(|age| {
        let figures = age
            .figures
            .0
            .iter()
            .map(|figure| json!({ "name": figure.name(), "value": figure.value, "unit": figure.quantity.unit() }));
        json!({ "share": age.share, "figures": figures.collect::<Vec<_>>() })
    });
    let document = json!({
        "schema": SCHEMA,
        "case": life.case,
        "point": life.point,
        "dust_in_air": life.dust,
        "filters": filters.collect::<Vec<_>>(),
        "ages": ages.collect::<Vec<_>>(),
    });
    Ok(writeln!(out, "{document:#}")?)
}

/// Writes one row for each age of each filter.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn csv(life: &Life, out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    let figures: Vec<String> = life.ages[0].figures.0.iter().map(tractwright::study::Figure::name).collect();
    let head =
        ["filter", "share", "dust", "drop", "mass_flow", "dust_passed"].map(str::to_owned).into_iter().chain(figures);
    csv.write_record(head).map_err(write_failed)?;
    for (number, filter) in life.filters.iter().enumerate() {
        for age in life.told() {
            let mass = age.share * filter.capacity;
            let [drop, flow] = age.filters[number];
            let passed = filter.passed(mass).map_or_else(String::new, |passed| passed.to_string());
            let own = [
                filter.part.clone(),
                age.share.to_string(),
                mass.to_string(),
                drop.to_string(),
                flow.to_string(),
                passed,
            ];
            let figures = age.figures.0.iter().map(|figure| figure.value.to_string());
            csv.write_record(own.into_iter().chain(figures)).map_err(write_failed)?;
        }
    }
    Ok(csv.flush()?)
}
