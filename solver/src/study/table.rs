//! The result of a study: one table with a row a run, in the order of the plan, however and wherever the runs were done.

use super::journal::{Ended, Entry, Name, Records};
use super::plan::{Id, Plan, Run, Sample};
use super::{Evaluator, Of, Quantity};
use crate::record::Attribute;
use crate::record::table::{Column, Table, Values};
use crate::run::PROGRAM;
use std::collections::{BTreeMap, HashMap, HashSet};

/// Dimension of the table.
const DIMENSION: &str = "run";
/// What became of a run, in the table: the places are the values.
const STATUS: &str = "0 done, 1 failed, 2 not run yet";

/// The runs of a study with what became of them.
#[derive(Debug)]
pub struct Rows<'a> {
    plan: &'a Plan,
    rows: Vec<Row>,
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
    pub fn of(plan: &'a Plan, evaluator: &Evaluator<'_>, mut records: Records) -> Self {
        let mut listed = HashMap::new();
        let mut rows: Vec<Row> = Vec::with_capacity(plan.count());
        for number in 0..plan.count() {
            let run = plan.run(number);
            let id = evaluator.id(&run);
            // Two numbers may stand for one run.
            let (ended, inputs) = match (listed.get(&id), records.entries.remove(&id)) {
                (Some(first), _) => {
                    let first: &Row = &rows[*first];
                    (first.ended.clone(), first.inputs.clone())
                }
                (None, Some(entry)) => (Some(entry.ended), entry.inputs),
                (None, None) => (None, Vec::new()),
            };
            listed.entry(id).or_insert(number);
            rows.push(Row { run, id, ended, inputs });
        }
        let added = records.entries.into_values();
        let mut added: Vec<Row> = added.filter_map(|entry| added_row(plan, evaluator, entry)).collect();
        added.sort_by(|a, b| {
            let place = |row: &Row| (row.run.layout, row.run.point);
            let numbers = || a.run.numbers.iter().zip(&b.run.numbers).map(|(a, b)| a.total_cmp(b));
            place(a).cmp(&place(b)).then_with(|| numbers().find(|order| order.is_ne()).unwrap_or(a.id.cmp(&b.id)))
        });
        rows.extend(added);
        Self { plan, rows }
    }

    /// The rows.
    #[must_use]
    pub fn all(&self) -> &[Row] {
        &self.rows
    }

    /// Names of all that was drawn from spreads in any run, fields and laws of loss.
    #[must_use]
    pub fn names_of_draws(&self) -> Vec<String> {
        let mut known = HashSet::new();
        let all = self.rows.iter().filter(|row| row.run.draw.is_some()).flat_map(|row| &row.inputs);
        all.filter(|(name, _)| known.insert(name)).map(|(name, _)| name.to_string()).collect()
    }

    /// The table: place, inputs, figures, status. Inputs are in the unit of the study, figures in SI.
    #[must_use]
    pub fn table(&self) -> Table {
        let mut columns = self.columns_of_place();
        columns.extend(self.columns_of_inputs());
        columns.extend(self.columns_of_figures());
        columns.extend(self.columns_of_ends());
        let seed = match self.plan.sample {
            Sample::Grid => self.plan.search.map(|search| i64::from(search.seed)),
            Sample::Sobol { seed, .. } => Some(i64::from(seed)),
            Sample::Spread { seed, .. } => i64::try_from(seed).ok(),
        };
        let mut attributes = vec![
            ("title".to_owned(), Attribute::from(self.plan.title.as_str())),
            ("source".to_owned(), Attribute::from(PROGRAM)),
            ("study".to_owned(), Attribute::from(self.plan.text.as_str())),
            ("finished".to_owned(), Attribute::Whole(self.rows.iter().all(|row| row.ended.is_some()).into())),
        ];
        attributes.extend(seed.map(|seed| ("seed".to_owned(), Attribute::Whole(seed))));
        for layout in &self.plan.layouts {
            attributes.push((format!("case of {}", layout.name), Attribute::from(layout.case.resolved_text())));
        }
        Table { dimension: DIMENSION.to_owned(), attributes, columns }
    }

    fn columns_of_place(&self) -> Vec<Column> {
        let texts = |name: &str, long_name: &str, text: &dyn Fn(&Row) -> String| Column {
            name: name.to_owned(),
            units: String::new(),
            long_name: long_name.to_owned(),
            values: Values::Texts(self.rows.iter().map(text).collect()),
        };
        vec![
            texts("id", "identity: what decides on the numbers of the run", &|row| row.id.to_string()),
            texts("layout", "layout", &|row| self.plan.layout_of(&row.run).name.clone()),
            texts("point", "operating point", &|row| self.plan.point_of(&row.run).to_owned()),
        ]
    }

    fn columns_of_inputs(&self) -> Vec<Column> {
        let of_variable = |(index, variable): (usize, &super::plan::Variable)| Column {
            name: variable.name.clone(),
            units: unit(variable.unit.symbol),
            long_name: variable.fields.join(", "),
            values: Values::Numbers(
                self.rows.iter().map(|row| row.run.numbers.get(index).copied().unwrap_or(f64::NAN)).collect(),
            ),
        };
        let mut columns: Vec<Column> = self.plan.variables.iter().enumerate().map(of_variable).collect();
        if !matches!(self.plan.sample, Sample::Spread { .. }) {
            return columns;
        }
        columns.push(Column {
            name: "draw".to_owned(),
            units: "1".to_owned(),
            long_name: "number of the draw from the spreads".to_owned(),
            values: Values::Whole(self.rows.iter().map(|row| row.run.draw.map_or(-1, |draw| draw as i64)).collect()),
        });
        let names = self.names_of_draws();
        let numbers = self.plan.layouts.iter().flat_map(|layout| layout.case.numbers());
        let units: BTreeMap<String, &str> = numbers.map(|number| (number.path, number.dimension.si_symbol())).collect();
        columns.extend(names.into_iter().map(|name| {
            Column {
                name: name.to_string(),
                units: units.get(&name).map_or("1".to_owned(), |symbol| unit(symbol)),
                long_name: if name.starts_with("loss: ") {
                    "standard deviations from the published loss"
                } else {
                    "drawn value"
                }
                .to_owned(),
                values: Values::Numbers(self.rows.iter().map(|row| row.input(&name).unwrap_or(f64::NAN)).collect()),
            }
        }));
        columns
    }

    /// A column for each figure that any run has, in the order of quantities and of first appearance.
    fn columns_of_figures(&self) -> Vec<Column> {
        let mut known = HashSet::new();
        let mut names: Vec<&str> = Vec::new();
        for row in &self.rows {
            if let Some(Ended::Done { figures, .. }) = &row.ended {
                names.extend(figures.iter().map(|(name, _)| &**name).filter(|name| known.insert(*name)));
            }
        }
        let quantity_of = |name: &str| {
            let key = name.split('.').next().unwrap_or(name);
            Quantity::ALL.iter().position(|quantity| quantity.key() == key)
        };
        names.sort_by_key(|name| quantity_of(name));
        let of_name = |name: &&str| {
            let name = *name;
            let quantity = quantity_of(name).map(|place| Quantity::ALL[place]);
            let of = name.split_once('.').map_or_else(String::new, |(_, of)| format!(", {of}"));
            let value = |row: &Row| row.figure(name).unwrap_or(f64::NAN);
            Column {
                name: name.replace('.', "_"),
                units: quantity.map_or("1", Quantity::unit).to_owned(),
                long_name: quantity.map_or_else(|| name.to_owned(), |quantity| format!("{}{of}", quantity.words())),
                values: Values::Numbers(self.rows.iter().map(value).collect()),
            }
        };
        names.iter().map(of_name).collect()
    }

    fn columns_of_ends(&self) -> Vec<Column> {
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
        let column = |name: &str, units: &str, long_name: &str, values: Values| Column {
            name: name.to_owned(),
            units: units.to_owned(),
            long_name: long_name.to_owned(),
            values,
        };
        vec![
            column(
                "meets",
                "1",
                "1 where the run meets all that is required",
                Values::Whole(self.rows.iter().map(meets).collect()),
            ),
            column("status", "1", STATUS, Values::Whole(self.rows.iter().map(status).collect())),
            column(
                "note",
                "",
                "what was done otherwise than asked, or why the run failed",
                Values::Texts(self.rows.iter().map(note).collect()),
            ),
        ]
    }
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
    pub fn value(&self, what: &super::plan::What) -> Option<f64> {
        what.value(&self.run.numbers, &|quantity: Quantity, of: &Of| self.figure(&super::name_of(quantity, of)))
    }

    /// See [`super::plan::Limit::margin`].
    #[must_use]
    pub fn margin(&self, limit: &super::plan::Limit) -> Option<f64> {
        limit.margin(self.value(&limit.what)?)
    }
}

/// The run of an entry that is not listed; `None` where its layout, its point or one of its inputs is not of the plan.
fn added_row(plan: &Plan, evaluator: &Evaluator<'_>, entry: Entry) -> Option<Row> {
    let layout = plan.layouts.iter().position(|layout| *layout.name == *entry.layout)?;
    let point = plan.points.iter().position(|point| **point == *entry.point)?;
    let number = |name: &str| entry.inputs.iter().find(|(known, _)| **known == *name).map(|(_, value)| *value);
    let numbers: Option<Vec<f64>> = plan.variables.iter().map(|variable| number(&variable.name)).collect();
    let run = Run { layout, point, numbers: numbers?, draw: entry.draw };
    // A run of an older form of the study has another identity.
    let same = evaluator.id(&run) == entry.id;
    same.then_some(Row { run, id: entry.id, ended: Some(entry.ended), inputs: entry.inputs })
}

fn unit(symbol: &str) -> String {
    if symbol.is_empty() { "1".to_owned() } else { symbol.to_owned() }
}
