//! The result of a study: one table with a row a run, in the order of the plan, however and wherever the runs were done.

use super::journal::{Ended, Entry, Form, Name, Records};
use super::plan::{Id, Limit, Plan, Run, Sample, Variable, What};
use super::{Evaluator, Of, Quantity};
use crate::record::Attribute;
use crate::record::table::{Column, Table, Values};
use crate::run::PROGRAM;
use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;

/// Dimension of the table.
const DIMENSION: &str = "run";
/// What became of a run, in the table: the places are the values.
const STATUS: &str = "0 done, 1 failed, 2 not run yet";

/// The runs of a study with what became of them.
#[derive(Debug)]
pub struct Rows<'a> {
    plan: &'a Plan,
    records: Records,
    /// Of the runs, in their order.
    ids: Vec<Id>,
    /// The runs behind those that the plan lists.
    added: Vec<Run>,
}

/// A run of the table.
#[derive(Debug, Clone)]
pub struct Row {
    /// The run.
    pub run: Run,
    /// Its identity.
    pub id: Id,
    /// What became of it; nothing yet where it was not done.
    pub ended: Option<Ended>,
    /// Its inputs as they were written.
    inputs: Vec<(Name, f64)>,
}

impl<'a> Rows<'a> {
    /// The runs that `plan` lists, in their order; then those of `records` that a search or a user added to the layouts and points of the plan,
    /// in the order of their inputs.
    #[must_use]
    pub fn of(plan: &'a Plan, evaluator: &Evaluator<'_>, records: Records) -> Self {
        let mut ids: Vec<Id> = (0..plan.count()).map(|number| evaluator.id(&plan.run(number))).collect();
        let listed: HashSet<Id> = ids.iter().copied().collect();
        let others = records.ids().filter(|id| !listed.contains(id));
        // A run of an older form of the study has another identity.
        let added = others.filter_map(|id| Some((run_of(plan, &records.get(id)?)?, id)));
        let mut added: Vec<(Run, Id)> = added.filter(|(run, id)| evaluator.id(run) == *id).collect();
        added.sort_by(|(a, of_a), (b, of_b)| {
            let numbers = || a.numbers.iter().zip(&b.numbers).map(|(a, b)| a.total_cmp(b));
            let place = (a.layout, a.point).cmp(&(b.layout, b.point));
            place.then_with(|| numbers().find(|order| order.is_ne()).unwrap_or(of_a.cmp(of_b)))
        });
        let (added, of_added): (Vec<Run>, Vec<Id>) = added.into_iter().unzip();
        ids.extend(of_added);
        Self { plan, records, ids, added }
    }

    /// Number of rows.
    #[must_use]
    pub fn count(&self) -> usize {
        self.ids.len()
    }

    /// The row of this number; `None` beyond the last.
    #[must_use]
    pub fn get(&self, number: usize) -> Option<Row> {
        (number < self.count()).then(|| self.row(number))
    }

    /// All rows, each of them made when its turn comes.
    pub fn iter(&self) -> impl Iterator<Item = Row> + '_ {
        (0..self.count()).map(|number| self.row(number))
    }

    fn row(&self, number: usize) -> Row {
        let run = match number.checked_sub(self.plan.count()) {
            Some(added) => self.added[added].clone(),
            None => self.plan.run(number),
        };
        let id = self.ids[number];
        let entry = self.records.get(id);
        let (inputs, ended) = entry.map_or_else(Default::default, |entry| (entry.inputs, Some(entry.ended)));
        Row { run, id, ended, inputs }
    }

    /// Names of all that was drawn from spreads in any run, fields and laws of loss.
    #[must_use]
    pub fn names_of_draws(&self) -> Vec<String> {
        let forms = self.forms();
        let mut known = HashSet::new();
        let all = forms.iter().flat_map(|form| &form.inputs).filter(|name| known.insert(*name));
        all.map(|name| name.to_string()).collect()
    }

    /// The forms of the runs, in the order of first appearance.
    fn forms(&self) -> Vec<&Form> {
        let mut known = HashSet::new();
        let forms = self.ids.iter().filter_map(|id| self.records.form(*id));
        forms.filter(|form| known.insert(Arc::as_ptr(form))).map(|form| &**form).collect()
    }

    /// The table: place, inputs, figures, status. Inputs are in the unit of the study, figures in SI.
    #[must_use]
    pub fn table(&self) -> Table<'_, Row> {
        let mut columns = self.columns_of_place();
        columns.extend(self.columns_of_inputs());
        columns.extend(self.columns_of_figures());
        columns.extend(self.columns_of_ends());
        let seed = match self.plan.sample {
            Sample::Grid => self.plan.search.map(|search| i64::from(search.seed)),
            Sample::Sobol { seed, .. } => Some(i64::from(seed)),
            Sample::Spread { seed, .. } => i64::try_from(seed).ok(),
        };
        let finished = self.ids.iter().all(|id| self.records.is_done(*id).is_some());
        let mut attributes = vec![
            ("title".to_owned(), Attribute::from(self.plan.title.as_str())),
            ("source".to_owned(), Attribute::from(PROGRAM)),
            ("study".to_owned(), Attribute::from(self.plan.text.as_str())),
            ("finished".to_owned(), Attribute::Whole(finished.into())),
        ];
        attributes.extend(seed.map(|seed| ("seed".to_owned(), Attribute::Whole(seed))));
        for layout in &self.plan.layouts {
            attributes.push((format!("case of {}", layout.name), Attribute::from(layout.case.resolved_text())));
        }
        let row = Box::new(|number| self.row(number));
        Table { dimension: DIMENSION.to_owned(), attributes, columns, rows: self.count(), row }
    }

    fn columns_of_place(&self) -> Vec<Column<'_, Row>> {
        let layout = |row: &Row| self.plan.layout_of(&row.run).name.clone();
        let point = |row: &Row| self.plan.point_of(&row.run).to_owned();
        vec![
            texts("id", "identity: what decides on the numbers of the run", |row| row.id.to_string()),
            texts("layout", "layout", layout),
            texts("point", "operating point", point),
        ]
    }

    fn columns_of_inputs(&self) -> Vec<Column<'_, Row>> {
        let of_variable = |(index, variable): (usize, &Variable)| {
            let value = move |row: &Row| row.run.numbers.get(index).copied().unwrap_or(f64::NAN);
            numbers(&variable.name, unit(variable.unit.symbol), &variable.fields.join(", "), value)
        };
        let mut columns: Vec<_> = self.plan.variables.iter().enumerate().map(of_variable).collect();
        if !matches!(self.plan.sample, Sample::Spread { .. }) {
            return columns;
        }
        let draw = |row: &Row| row.run.draw.map_or(-1, |draw| draw as i64);
        columns.push(whole("draw", "number of the draw from the spreads", draw));
        let fields = self.plan.layouts.iter().flat_map(|layout| layout.case.numbers());
        let units: BTreeMap<String, &str> = fields.map(|field| (field.path, field.dimension.si_symbol())).collect();
        columns.extend(self.names_of_draws().into_iter().map(|name| {
            let is_loss = name.starts_with("loss: ");
            let words = if is_loss { "standard deviations from the published loss" } else { "drawn value" };
            let unit = units.get(&name).map_or("1", |symbol| unit(symbol));
            let key = name.clone();
            numbers(&name, unit, words, move |row| row.input(&key).unwrap_or(f64::NAN))
        }));
        columns
    }

    /// A column for each figure that any run has, in the order of quantities and of first appearance.
    fn columns_of_figures(&self) -> Vec<Column<'_, Row>> {
        let mut known = HashSet::new();
        let forms = self.forms();
        let all = forms.iter().flat_map(|form| &form.figures);
        let mut names: Vec<&Name> = all.filter(|name| known.insert(*name)).collect();
        let quantity_of = |name: &str| {
            let key = name.split('.').next().unwrap_or(name);
            Quantity::ALL.iter().position(|quantity| quantity.key() == key)
        };
        names.sort_by_key(|name| quantity_of(name));
        let of_name = |name: &&Name| {
            let name = Arc::clone(name);
            let quantity = quantity_of(&name).map(|place| Quantity::ALL[place]);
            let of = name.split_once('.').map_or_else(String::new, |(_, of)| format!(", {of}"));
            let words = quantity.map_or_else(|| name.to_string(), |quantity| format!("{}{of}", quantity.words()));
            let unit = quantity.map_or("1", Quantity::unit);
            numbers(&name.replace('.', "_"), unit, &words, move |row| row.figure(&name).unwrap_or(f64::NAN))
        };
        names.iter().map(of_name).collect()
    }

    fn columns_of_ends(&self) -> Vec<Column<'_, Row>> {
        let status = |row: &Row| match &row.ended {
            Some(Ended::Done { .. }) => 0,
            Some(Ended::Failed(_)) => 1,
            None => 2,
        };
        let note = |row: &Row| match &row.ended {
            Some(Ended::Done { note, .. }) => note.clone(),
            Some(Ended::Failed(why)) => why.clone(),
            None => String::new(),
        };
        let meets = |row: &Row| {
            i64::from(self.plan.limits.iter().all(|limit| row.margin(limit).is_some_and(|margin| margin >= 0.0)))
        };
        vec![
            whole("meets", "1 where the run meets all that is required", meets),
            whole("status", STATUS, status),
            texts("note", "what was done otherwise than asked, or why the run failed", note),
        ]
    }
}

fn numbers<'a>(name: &str, units: &str, long_name: &str, value: impl Fn(&Row) -> f64 + 'a) -> Column<'a, Row> {
    column(name, units, long_name, Values::Number(Box::new(value)))
}

fn whole<'a>(name: &str, long_name: &str, value: impl Fn(&Row) -> i64 + 'a) -> Column<'a, Row> {
    column(name, "1", long_name, Values::Whole(Box::new(value)))
}

fn texts<'a>(name: &str, long_name: &str, value: impl Fn(&Row) -> String + 'a) -> Column<'a, Row> {
    column(name, "", long_name, Values::Text(Box::new(value)))
}

fn column<'a>(name: &str, units: &str, long_name: &str, values: Values<'a, Row>) -> Column<'a, Row> {
    Column { name: name.to_owned(), units: units.to_owned(), long_name: long_name.to_owned(), values }
}

impl Row {
    /// Whether it has figures.
    #[must_use]
    pub fn is_done(&self) -> bool {
        self.ended.as_ref().is_some_and(Ended::is_done)
    }

    /// A figure by its name; `None` where the run has none.
    #[must_use]
    pub fn figure(&self, name: &str) -> Option<f64> {
        let Some(Ended::Done { figures, .. }) = &self.ended else { return None };
        figures.iter().find(|(known, _)| **known == *name).map(|(_, value)| *value)
    }

    /// A value that was varied or drawn, by its name.
    #[must_use]
    pub fn input(&self, name: &str) -> Option<f64> {
        self.inputs.iter().find(|(known, _)| **known == *name).map(|(_, value)| *value)
    }

    /// The value of what an aim or a condition looks at; of an input in its unit, else in SI.
    #[must_use]
    pub fn value(&self, what: &What) -> Option<f64> {
        what.value(&self.run.numbers, &|quantity: Quantity, of: &Of| self.figure(&super::name_of(quantity, of)))
    }

    /// See [`Limit::margin`].
    #[must_use]
    pub fn margin(&self, limit: &Limit) -> Option<f64> {
        limit.margin(self.value(&limit.what)?)
    }
}

/// The run of an entry; `None` where its layout, its point or one of its inputs is not of the plan.
fn run_of(plan: &Plan, entry: &Entry) -> Option<Run> {
    let layout = plan.layouts.iter().position(|layout| *layout.name == *entry.layout)?;
    let point = plan.points.iter().position(|point| **point == *entry.point)?;
    let number = |name: &str| entry.inputs.iter().find(|(known, _)| **known == *name).map(|(_, value)| *value);
    let numbers: Option<Vec<f64>> = plan.variables.iter().map(|variable| number(&variable.name)).collect();
    Some(Run { layout, point, numbers: numbers?, draw: entry.draw })
}

fn unit(symbol: &str) -> &str {
    if symbol.is_empty() { "1" } else { symbol }
}
