//! The bench as tables and sentences.

use super::{CUBIC_FOOT_A_MINUTE, ConventionName, EntryName, FormulaName, Found, INCH_OF_WATER};
use crate::print::number::{celsius, figures, fixed, grams, kilopascals, signed, trimmed};
use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH};
use tractwright::study::flow_bench::{Air, Removal};

/// Everything.
pub(super) fn of(found: &Found<'_>) -> String {
    let mut text = String::new();
    let mut say = |words: &str, table: Option<Table>| {
        wrap(words, WIDTH).iter().for_each(|line| text.push_str(&format!("{line}\n")));
        table.iter().for_each(|table| text.push_str(&format!("\n{}\n", table.render())));
    };
    say(&set_up(found), Some(readings(found)));
    say(&converted(found), None);
    say(&measured(found), None);
    if !found.removals.is_empty() {
        say("", Some(removals(found)));
        say(&in_series(found), None);
        for (part, removal) in &found.removals {
            if let Err(why) = removal {
                say(&format!("  {part} cannot be taken out: {why}"), None);
            }
        }
    }
    text
}

fn set_up(found: &Found<'_>) -> String {
    let command = found.command;
    let from = command.from.as_deref().unwrap_or("the mouths");
    let to = command.to.as_deref().unwrap_or("the draws");
    let entry = match command.entry {
        EntryName::AsIs => "as the case has it",
        EntryName::Radiused => "radiused",
        EntryName::Sharp => "sharp",
    };
    let Air { pressure, temperature, .. } = found.reading.air;
    format!(
        "From {from} to {to}, entry {entry}, in still air of {} kPa and {} degC, {} kg/m3",
        trimmed(1e-3 * pressure, 3),
        celsius(temperature),
        fixed(found.reading.air.density(), 4)
    )
}

fn readings(found: &Found<'_>) -> Table {
    let reading = &found.reading;
    let density = reading.air.density();
    let row = |label: String, flow: f64, density: f64, rest: [String; 2]| {
        Row::new(label, [vec![feet(flow, density), grams(flow)], rest.to_vec()].concat())
    };
    let none = || [String::new(), String::new()];
    let tested = format!("at {} inH2O, as tested", inches(reading.depression));
    let coefficient = reading.loss_coefficient(found.formula).map_or("-".to_owned(), |k| fixed(k, 3));
    let mut rows =
        vec![row(tested, reading.mass_flow, density, [coefficient, area(reading.effective_area(found.formula))])];
    for other in &found.others {
        let label = format!("at {} inH2O", inches(other.depression));
        rows.push(row(format!("{label}, converted"), other.converted, density, none()));
        rows.extend(other.solved.map(|solved| row(format!("{label}, solved"), solved, density, none())));
    }
    let standard = Air::standard().density();
    rows.push(row("as tested, in standard air".to_owned(), found.standard, standard, none()));
    let head = ["cfm", "g/s", "K", "area, cm2"].map(str::to_owned).to_vec();
    Table { head: Row::new("flow", head), rows }
}

fn converted(found: &Found<'_>) -> String {
    let formula = match found.command.formula {
        FormulaName::Incompressible => "Incompressible: area = m / sqrt(2 rho dp), so that cfm go with sqrt(dp / rho).",
        FormulaName::Compressible => {
            "Compressible: area = m / isentropic mass flux from the air before the bench to dp below it; converted at the same area."
        }
    };
    let standard = Air::standard();
    format!(
        "{formula} cfm in the air before the bench; standard air is dry, {} kPa and {} degC, {} kg/m3. What is solved has its own laws of \
         friction and filters, which no conversion knows.",
        trimmed(1e-3 * standard.pressure, 3),
        celsius(standard.temperature),
        fixed(standard.density(), 4)
    )
}

fn measured(found: &Found<'_>) -> String {
    let reading = &found.reading;
    let counted = match found.command.convention {
        ConventionName::SettlingChamber => {
            "Settling chamber: the depression counts the velocity head of the exit as lost."
        }
        ConventionName::TubeTap => {
            "Tube tap: the velocity head of the exit is added to what a static tap in a tube of its size reads, and not counted."
        }
    };
    let on = if reading.exit_area.is_finite() {
        format!("K = (exit area / area)^2, on {} cm2 of exit", area(reading.exit_area))
    } else {
        "no K: the last part has no exit of its own".to_owned()
    };
    format!("{counted} Static pressure there {} kPa below the room; {on}.", kilopascals(reading.static_depression))
}

fn removals(found: &Found<'_>) -> Table {
    let head = ["cfm", "inH2O", "gain, %", "of loss, %", "own area, cm2"].map(str::to_owned).to_vec();
    let flow = |flow: f64| feet(flow, found.reading.air.density());
    let with = vec![flow(found.reading.mass_flow), inches(found.reading.depression)];
    let row = |(part, removal): &(String, Result<Removal, String>)| {
        let Removal { reading, gain, share, area: own, .. } = removal.as_ref().ok()?;
        let own = own.filter(|own| own.is_finite()).map_or("-".to_owned(), area);
        let cells = [flow(reading.mass_flow), inches(reading.depression), signed(100.0 * gain, 1)];
        Some(Row::new(format!("without {part}"), [cells.to_vec(), vec![fixed(100.0 * share, 1), own]].concat()))
    };
    let rows = std::iter::once(Row::new("all parts", with)).chain(found.removals.iter().filter_map(row)).collect();
    Table { head: Row::new("part by part", head), rows }
}

fn in_series(found: &Found<'_>) -> String {
    let beside =
        if found.command.stay_out { "the row above it; what is out stays out" } else { "all parts, each alone" };
    format!(
        "Beside {beside}. Gain: how much more flows at the same depression. Of loss: 1 - (with / without)^2, by the areas of the whole. Own area: \
         1/A^2 = 1/with^2 - 1/without^2, of a part that all air passes and that costs something. What stands before and behind a part meets when it \
         is out; a wye keeps the bore of its leg, a volume the sharp-edged hole in its wall; a gap is sealed. Without the last part the bench takes over \
         where the one before it ends."
    )
}

fn feet(mass_flow: f64, density: f64) -> String {
    fixed(mass_flow / density / CUBIC_FOOT_A_MINUTE, 1)
}

fn inches(depression: f64) -> String {
    let inches = depression / INCH_OF_WATER;
    if inches < 0.1 { figures(inches) } else { trimmed(inches, 2) }
}

fn area(area: f64) -> String {
    fixed(1e4 * area, 2)
}
