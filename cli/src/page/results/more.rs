//! What a page shows beyond the results as they are: sampled differences, levers, logs of the car.

use crate::Streams;
use crate::chart::drawing::Drawing;
use crate::chart::{overlay, tornado};
use crate::commands::compare::spread::{Sampled, Sampling, sampled, text};
use crate::commands::levers::{self, Found, table};
use crate::commands::measured;
use crate::failure::Failure;
use crate::opened::Opened;
use crate::overlay::Overlay;
use crate::print::Table;
use maud::{Markup, html};
use std::path::{Path, PathBuf};
use tractwright::case::Task;
use tractwright::study::levers::Levers as Study;
use tractwright::study::spread::PowerRange;

/// What was computed anew from the cases of the results.
#[derive(Debug, Default)]
pub(crate) struct More {
    sampled: Vec<Sampled>,
    levers: Vec<(PathBuf, Levers)>,
    logs: Vec<(PathBuf, Overlaid)>,
}

/// A log beside the case of one result.
#[derive(Debug)]
struct Overlaid {
    log: PathBuf,
    drawing: Drawing,
    table: Table,
    doubts: Vec<String>,
    basis: String,
}

/// The levers of one result.
#[derive(Debug)]
struct Levers {
    drawing: Drawing,
    table: Table,
    remarks: Vec<String>,
}

impl More {
    /// Samples each point that is no day of phases and has two layouts at least; says whether it came to its end.
    ///
    /// # Errors
    /// A case cannot be run, or too few samples can.
    pub(crate) fn sample(
        &mut self,
        results: &[Opened],
        sampling: Sampling,
        streams: &mut Streams<'_>,
    ) -> Result<bool, Failure> {
        let mut points: Vec<&str> = Vec::new();
        for opened in results.iter().filter(|opened| opened.point.phases.is_empty()) {
            if !points.contains(&opened.point.name.as_str()) {
                points.push(&opened.point.name);
            }
        }
        for point in points {
            let here: Vec<&Opened> = results.iter().filter(|opened| opened.point.name == point).collect();
            if here.len() < 2 {
                continue;
            }
            let cases = here.iter().map(|opened| opened.reading.case.clone()).collect();
            let names = here.iter().map(|opened| opened.reading.case_name.clone()).collect();
            match sampled(cases, names, point, sampling, streams)? {
                Some(found) => self.sampled.push(found),
                None => return Ok(false),
            }
        }
        Ok(true)
    }

    /// Finds the levers of each result at a point that is held; says whether it came to its end.
    ///
    /// # Errors
    /// A case cannot be run.
    pub(crate) fn find_levers(&mut self, results: &[Opened], streams: &mut Streams<'_>) -> Result<bool, Failure> {
        let held = |opened: &&Opened| matches!(opened.point.task, Task::Hold) && opened.point.phases.is_empty();
        for opened in results.iter().filter(held) {
            let (reading, aim) = (&opened.reading, levers::usual(opened));
            let mut study = Study::new(reading.case.clone(), &reading.point, aim, None)?;
            study.keep_only(&[levers::OF_THE_TRACT.to_owned()]);
            let Some(found) = Found::of(&study, aim, None, 0, streams)? else { return Ok(false) };
            let shown = Levers {
                drawing: tornado::drawing(&found, &reading.case_name, &reading.point),
                table: table::table(&found),
                remarks: table::remarks(&found),
            };
            self.levers.push((opened.path.clone(), shown));
        }
        Ok(true)
    }

    /// Sets the model of each result's case beside all steady states of the `logs` that were measured at its point.
    ///
    /// # Errors
    /// A log cannot be read.
    pub(crate) fn lay_over(&mut self, results: &[Opened], logs: &[PathBuf]) -> Result<(), Failure> {
        for opened in results {
            let (case, point) = (&opened.reading.case, &opened.reading.point);
            if case.measured.as_ref().is_none_or(|measured| measured.point != *point) {
                continue;
            }
            for log in logs {
                // The course of a pull has been marched already.
                let known = opened.beside.iter().filter(|beside| beside.0 == *log).find_map(|beside| beside.1.course());
                let own = if known.is_none() { Some(Overlay::of(case, log)?) } else { None };
                let Some(overlay) = known.or(own.as_ref()) else { continue };
                let shown = Overlaid {
                    log: log.clone(),
                    drawing: overlay::drawing(overlay),
                    table: measured::beside(overlay),
                    doubts: measured::doubts(overlay).into_iter().chain(overlay.without_model()).collect(),
                    basis: measured::basis(overlay),
                };
                self.logs.push((opened.path.clone(), shown));
            }
        }
        Ok(())
    }

    /// The logs beside the result at `path`.
    pub(super) fn logs(&self, path: &Path) -> Markup {
        let logs: Vec<&Overlaid> = self.logs.iter().filter(|(of, _)| of == path).map(|(_, log)| log).collect();
        html! {
            @for log in logs {
                (log.drawing.figure())
                (log.table.markup(&format!("{} beside the model", log.log.display())))
                @if !log.doubts.is_empty() { ul { @for doubt in &log.doubts { li { (doubt) } } } }
                p class="plain" { (log.basis) }
            }
        }
    }

    /// How the power of the layout of this number at a point spreads over crank speed.
    pub(super) fn power_range(&self, point: &str, layout: usize) -> Option<&PowerRange> {
        self.sampled.iter().find(|sampled| sampled.point == point)?.power_range(layout)
    }

    /// Whether any difference was sampled.
    pub(super) fn has_ranges(&self) -> bool {
        !self.sampled.is_empty()
    }

    /// How sure the differences at a point are, in a sentence for each layout.
    pub(super) fn sentences(&self, point: &str) -> Vec<String> {
        let here = self.sampled.iter().filter(|sampled| sampled.point == point);
        here.flat_map(text::answers).map(|(_, verdict)| verdict).collect()
    }

    /// The same with all numbers.
    pub(super) fn ranges(&self, point: &str) -> Markup {
        html! {
            @for sampled in self.sampled.iter().filter(|sampled| sampled.point == point) {
                h3 { "How sure the differences are" }
                p class="plain" { (text::inputs(sampled)) "; the same draws in all layouts" }
                @for (table, verdict) in text::answers(sampled) {
                    p class="plain" { (verdict) }
                    (table.markup("Median and range of the differences"))
                }
            }
        }
    }

    /// What each number of the case of a result is worth.
    pub(super) fn levers(&self, result: &Path) -> Markup {
        html! {
            @for (_, levers) in self.levers.iter().filter(|known| known.0 == result) {
                (levers.drawing.figure())
                details {
                    summary { "All levers, and as tolerances" }
                    (levers.table.markup("Levers and tolerances"))
                    @for remark in &levers.remarks { p class="plain" { (remark) } }
                }
            }
        }
    }
}
