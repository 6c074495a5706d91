//! From the text of a study to a plan.

use super::keys::{FIELDS, SET, STUDY_KEYS, VALUES};
use super::runs::{MOST_AXES, MOST_SOBOL};
use super::variable::field_at;
use super::{Goal, Layout, Limit, Plan, Sample, Search, Values, Variable, What};
use crate::case::{Case, NewValue, Number, Until, read_text};
use crate::error::{CaseError, Error, Location, OutputError, Problem};
use crate::fields::{Fields, Log, Range, join};
use crate::quantity::{self, Dimension, Fault, Unit, quote};
use crate::study::Quantity;
use crate::suggest;
use crate::yaml::{self, Content, Entry, Limits, Node, Place};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

/// Columns that the table of every study has.
const RESERVED_NAMES: &[&str] = &["run", "id", "layout", "point", "draw", "meets", "status", "note"];
/// Runs of one study beyond which nobody means it.
const MOST_RUNS: usize = 100_000_000;
/// Defaults of a search.
const EVALUATIONS: usize = 100;
const STARTS: usize = 8;
const SEED: usize = 1;

pub(super) fn from_path(path: &Path) -> Result<Plan, Error> {
    std::fs::metadata(path).map_err(|source| OutputError::File { path: path.to_owned(), source })?;
    let name = path.to_string_lossy();
    let text = read_text(path).map_err(|(found, expected)| {
        let location = Location { file: name.to_string(), ..Location::default() };
        CaseError { problems: vec![Problem { location, path: "study".to_owned(), found, expected, nearest: None }] }
    })?;
    let file: Arc<str> = Arc::from(&*name);
    let log = Log::new();
    let mut problems = Vec::new();
    let tree = yaml::read(&file, &text, Limits::CASE, &mut problems);
    problems.into_iter().for_each(|problem| log.note(problem));
    let plan = tree.and_then(|tree| read(&file, &text, &tree, &log));
    log.finish()?;
    let (location, path) = (Place::whole(&file).location(), "study".to_owned());
    let (found, expected) = ("a study that is refused without a reason".to_owned(), "a reason".to_owned());
    let unread = || CaseError { problems: vec![Problem { location, path, found, expected, nearest: None }] };
    Ok(plan.ok_or_else(unread)?)
}

fn read(file: &Arc<str>, text: &str, tree: &Node, log: &Log) -> Option<Plan> {
    let whole = Place { file: Arc::clone(file), line: 1, column: 1 };
    let fields = Fields::check("study", "", &whole, tree, STUDY_KEYS, &[], log);
    let run = tree.get("run").cloned().unwrap_or_else(|| steady(&whole));
    let layouts: Vec<Layout> = read_layouts(tree, &run, log);
    if layouts.is_empty() || layouts.len() < fields.named_maps("layouts").len() {
        if log.is_clean() {
            fields.problem("layouts", "no layout", "one at least, such as `sealed: {case: sealed.yaml}`");
        }
        return None;
    }
    let points = read_points(&fields, &layouts);
    if !log.is_clean() {
        return None;
    }
    let sample = read_sample(&fields)?;
    let search = fields.map("search").map(|search| Search {
        evaluations: search.count("evaluations").unwrap_or(EVALUATIONS),
        starts: search.count("starts").unwrap_or(STARTS).max(1),
        seed: small(search.count("seed").unwrap_or(SEED)),
    });
    let variables = read_variables(tree, &fields, &layouts, &points);
    let (limits, goals) = (read_limits(&fields, &variables), read_goals(&fields, &variables));
    let (title, keeps_fields) = (fields.text("title").unwrap_or_default(), fields.word("keep") == Some("fields"));
    let (file, text) = (file.to_string(), text.to_owned());
    let plan = Plan { file, text, title, layouts, points, variables, sample, limits, goals, search, keeps_fields };
    if log.is_clean() {
        check_together(&plan, &fields);
    }
    log.is_clean().then_some(plan)
}

/// `{until: steady}`.
fn steady(place: &Place) -> Node {
    let value = Node::plain("steady", place.clone());
    let entry = Entry { key: "until".to_owned(), place: place.clone(), value };
    Node { place: place.clone(), content: Content::Map(vec![entry]) }
}

fn read_layouts(tree: &Node, run: &Node, log: &Log) -> Vec<Layout> {
    let read = |entry: &Entry| {
        let path = join("layouts", &entry.key);
        let name = entry.value.get("case")?;
        let case = Case::named(name.text()?, &name.place, &join(&path, "case"));
        let case = case.and_then(|case| set(&case, entry.value.get("set"), &join(&path, "set")));
        let case = case.and_then(|case| case.run_as(run)).map_err(|error| note_all(log, error)).ok()?;
        let fields: BTreeSet<String> = case.numbers().into_iter().map(|number| number.path).collect();
        Some(Layout { name: entry.key.clone(), case, fields })
    };
    tree.get("layouts").and_then(Node::map).unwrap_or_default().iter().filter_map(read).collect()
}

/// The case with what the study sets in it; what is wrong with a value is told where the study says it.
fn set(case: &Case, values: Option<&Node>, path: &str) -> Result<Case, CaseError> {
    let Some(values) = values else { return Ok(case.clone()) };
    let wrong = |place: &Place, path: String, found: String, expected: &str| {
        let (location, expected) = (place.location(), expected.to_owned());
        CaseError { problems: vec![Problem { location, path, found, expected, nearest: None }] }
    };
    let entries = values.map().ok_or_else(|| wrong(&values.place, path.to_owned(), values.describe(), SET))?;
    let mut case = case.clone();
    for entry in entries {
        let here = join(path, &entry.key);
        let text = entry.value.text().ok_or_else(|| wrong(&entry.value.place, here, entry.value.describe(), SET))?;
        let changed = case.with(&[(&entry.key, NewValue::from(text))]);
        case = changed.map_err(|error| CaseError {
            problems: error
                .problems
                .into_iter()
                .map(|problem| Problem { location: entry.place.location(), ..problem })
                .collect(),
        })?;
    }
    Ok(case)
}

fn note_all(log: &Log, error: CaseError) {
    error.problems.into_iter().for_each(|problem| log.note(problem));
}

fn read_points(fields: &Fields<'_>, layouts: &[Layout]) -> Vec<String> {
    if !fields.has("points") {
        return layouts[0].case.points.iter().map(|point| point.name.clone()).collect();
    }
    let points = fields.names("points");
    for point in &points {
        for layout in layouts {
            let known: Vec<&str> = layout.case.points.iter().map(|point| point.name.as_str()).collect();
            if !known.contains(&point.as_str()) {
                let expected = format!("one of those of `{}`: {}", layout.name, known.join(", "));
                fields.problem("points", format!("the point {}", quote(point)), expected);
            }
        }
    }
    if points.is_empty() {
        fields.problem("points", "no point", "one at least");
    }
    points
}

fn read_sample(fields: &Fields<'_>) -> Option<Sample> {
    let Some(sample) = fields.map("sample") else { return Some(Sample::Grid) };
    let method = sample.word("method")?;
    let (count, seed) = (sample.count("count"), sample.count("seed").unwrap_or(SEED));
    match (method, count) {
        ("grid", None) => Some(Sample::Grid),
        ("grid", Some(_)) => {
            sample.problem("count", "a number of samples of a grid", "`count` of each input in `vary`");
            None
        }
        (_, None | Some(0)) => {
            sample.problem("count", "no number of samples", "a number such as `256`");
            None
        }
        ("sobol", Some(count)) if count > MOST_SOBOL => {
            sample.problem("count", format!("{count} samples"), format!("at most {MOST_SOBOL}"));
            None
        }
        ("sobol", Some(count)) => Some(Sample::Sobol { count, seed: small(seed) }),
        (_, Some(count)) => Some(Sample::Spread { count, seed: seed as u64 }),
    }
}

fn small(seed: usize) -> u32 {
    u32::try_from(seed).unwrap_or(u32::MAX)
}

fn read_variables(tree: &Node, fields: &Fields<'_>, layouts: &[Layout], points: &[String]) -> Vec<Variable> {
    let nodes = tree.get("vary").and_then(Node::map).unwrap_or_default();
    let node = |name: &str| nodes.iter().find(|entry| entry.key == name).map(|entry| &entry.value);
    let numbers: Vec<BTreeMap<String, Number>> = layouts
        .iter()
        .map(|layout| layout.case.numbers().into_iter().map(|number| (number.path.clone(), number)).collect())
        .collect();
    let read = |input: &Fields<'_>| {
        let node = node(input.name())?;
        let figure = Quantity::ALL.iter().any(|quantity| quantity.key() == input.name());
        if figure || RESERVED_NAMES.contains(&input.name()) {
            input.problem("", format!("the name `{}`, which the table has already", input.name()), "another name");
            return None;
        }
        let paths = read_paths(node.get("fields")?, input)?;
        let of = find_fields(&paths, layouts, points, &numbers, input)?;
        let (values, unit) = read_values(node, input, of)?;
        let variable = Variable { name: input.name().to_owned(), fields: paths, dimension: of.dimension, unit, values };
        check_range(&variable, of.range, input).then_some(variable)
    };
    fields.named_maps("vary").iter().filter_map(read).collect()
}

fn read_paths(node: &Node, input: &Fields<'_>) -> Option<Vec<String>> {
    let texts = match (node.text(), node.list()) {
        (Some(text), _) => vec![text.to_owned()],
        (None, Some(items)) => items.iter().filter_map(|item| item.text().map(str::to_owned)).collect(),
        (None, None) => Vec::new(),
    };
    if texts.is_empty() || node.list().is_some_and(|items| items.len() != texts.len()) {
        input.problem("fields", node.describe(), FIELDS);
        return None;
    }
    Some(texts)
}

/// Looks the fields up in all layouts; the first of them, whose unit counts where the study gives none.
fn find_fields<'n>(
    paths: &[String],
    layouts: &[Layout],
    points: &[String],
    numbers: &'n [BTreeMap<String, Number>],
    input: &Fields<'_>,
) -> Option<&'n Number> {
    let point = points.first()?;
    let mut first: Option<&Number> = None;
    for (layout, numbers) in layouts.iter().zip(numbers) {
        let mut found = false;
        for path in paths {
            let Some(number) = numbers.get(&field_at(path, point)) else { continue };
            found = true;
            let first = *first.get_or_insert(number);
            if first.dimension != number.dimension {
                let found = format!("{}, {}", quote(path), number.dimension.name());
                input.problem("fields", found, format!("fields that all are {}", first.dimension.name()));
                return None;
            }
        }
        if !found {
            let names = || numbers.keys().map(String::as_str);
            let near = paths.iter().find_map(|path| suggest::nearest(&field_at(path, point), names()));
            let near = near.map_or(String::new(), |near| format!("; did you mean `{near}`?"));
            let found = format!("{}, of which the layout `{}` has none", paths.join(", "), layout.name);
            input.problem("fields", found, format!("a numeric field such as `parts.box.volume`{near}"));
            return None;
        }
    }
    first
}

fn read_values(node: &Node, input: &Fields<'_>, of: &Number) -> Option<(Values, &'static Unit)> {
    if let Some(values) = node.get("values") {
        for key in ["from", "to", "count"] {
            if input.has(key) {
                input.problem(key, format!("`{key}` beside `values`"), "either `values`, or `from`, `to` and `count`");
                return None;
            }
        }
        return read_list(values, input, of);
    }
    let (from, to) = (node.get("from").and_then(Node::text), node.get("to").and_then(Node::text));
    let (Some(from), Some(to)) = (from, to) else {
        input.problem("", "no values", "`values`, or `from` and `to`");
        return None;
    };
    let (from, unit) = one(from, of.dimension).map_err(|fault| told(input, "from", &fault)).ok()?;
    let (to, other) = one(to, of.dimension).map_err(|fault| told(input, "to", &fault)).ok()?;
    let to = if other == unit { to } else { unit.from_si(other.to_si(to)) };
    if from >= to {
        input.problem("to", format!("{to} {}", unit.symbol), format!("more than {from} {}", unit.symbol));
        return None;
    }
    let count = input.count("count");
    if count.is_some_and(|count| count < 2) {
        input.problem("count", "fewer than two values from bound to bound", "2 or more");
        return None;
    }
    Some((Values::Span { from, to, count }, unit))
}

fn read_list(node: &Node, input: &Fields<'_>, of: &Number) -> Option<(Values, &'static Unit)> {
    let texts: Vec<&str> = match node.list() {
        Some(items) => items.iter().filter_map(Node::text).collect(),
        None => node.text().into_iter().collect(),
    };
    let (mut values, mut unit) = (Vec::new(), None);
    for text in texts {
        let written = quantity::written(text, of.dimension).map_err(|fault| told(input, "values", &fault)).ok()?;
        let unit = *unit.get_or_insert(written.unit);
        let in_unit =
            |number: f64| if written.unit == unit { number } else { unit.from_si(written.unit.to_si(number)) };
        values.extend(written.numbers.into_iter().map(in_unit));
    }
    match unit {
        Some(unit) => Some((Values::List(values), unit)),
        None => {
            input.problem("values", node.describe(), VALUES);
            None
        }
    }
}

/// One number with its unit.
fn one(text: &str, dimension: Dimension) -> Result<(f64, &'static Unit), Fault> {
    let si = quantity::parse(text, dimension)?;
    let written = quantity::written(text, dimension)?;
    Ok((written.numbers.first().copied().unwrap_or(si), written.unit))
}

fn told(fields: &Fields<'_>, key: &'static str, fault: &Fault) {
    let near = fault.nearest.as_ref().map_or(String::new(), |near| format!(" (did you mean `{near}`?)"));
    fields.problem(key, fault.found.clone(), format!("{}{near}", fault.expected));
}

fn check_range(variable: &Variable, range: Range, input: &Fields<'_>) -> bool {
    let (least, most) = variable.values.bounds();
    for bound in [least, most] {
        if !range.allows(variable.unit.to_si(bound)) {
            input.problem("fields", variable.text_of(bound), range.words(variable.dimension));
            return false;
        }
    }
    true
}

fn read_limits(fields: &Fields<'_>, variables: &[Variable]) -> Vec<Limit> {
    let read = |limit: &Fields<'_>| {
        let what = read_what(limit, variables)?;
        let bound = |key: &'static str| -> Option<Option<f64>> {
            let Some(text) = limit.text(key) else { return Some(None) };
            let Some(dimension) = what.dimension(variables) else {
                limit.problem(key, quote(&text), "a figure whose unit a case can give");
                return None;
            };
            let (number, unit) = one(&text, dimension).map_err(|fault| told(limit, key, &fault)).ok()?;
            Some(Some(match &what {
                What::Variable(index) => variables[*index].unit.from_si(unit.to_si(number)),
                What::Figure(..) => unit.to_si(number),
            }))
        };
        let (at_least, at_most) = (bound("at_least")?, bound("at_most")?);
        if at_least.is_none() && at_most.is_none() {
            limit.problem("", "no bound", "`at_least`, `at_most` or both");
            return None;
        }
        Some(Limit { what, at_least, at_most })
    };
    fields.maps("require").iter().filter_map(read).collect()
}

fn read_goals(fields: &Fields<'_>, variables: &[Variable]) -> Vec<Goal> {
    let read = |goal: &Fields<'_>| Some(Goal { what: read_what(goal, variables)?, more: goal.word("want")? == "most" });
    fields.maps("aims").iter().filter_map(read).collect()
}

fn read_what(fields: &Fields<'_>, variables: &[Variable]) -> Option<What> {
    let text = fields.text("figure")?;
    let what = What::read(&text, variables);
    if what.is_none() {
        let mut names: Vec<&str> = Quantity::ALL.iter().map(|quantity| quantity.key()).collect();
        names.extend(variables.iter().map(|variable| variable.name.as_str()));
        let near = suggest::nearest(&text, names.iter().copied());
        let near = near.map_or(String::new(), |near| format!(" (did you mean `{near}`?)"));
        fields.problem("figure", quote(&text), format!("one of: {}{near}", names.join(", ")));
    }
    what
}

/// What inputs, samples, aims and search make together.
fn check_together(plan: &Plan, fields: &Fields<'_>) {
    let spreads = matches!(plan.sample, Sample::Spread { .. });
    if spreads && !plan.variables.is_empty() {
        fields.problem("vary", "inputs beside samples of the spreads", "inputs alone, or `sample` alone");
    }
    // The march into a result file knows the published losses as they are published, so that draws of them would be told and not be there.
    let into_files = |layout: &Layout| {
        let phases = plan.points.iter().any(|point| !layout.case.phases(point).is_empty());
        phases || layout.case.run.until != Until::Steady || plan.keeps_fields
    };
    if spreads && plan.layouts.iter().any(into_files) {
        let expected = "steady states, pulls or roll-ons whose fields are not kept";
        fields.problem("sample", "draws from the spreads of runs that are marched into files", expected);
    }
    let sampled = !matches!(plan.sample, Sample::Grid);
    if plan.search.is_some() && sampled {
        fields.problem("sample", "samples beside a search", "`search` alone: it chooses its own");
    }
    if plan.search.is_some() && (plan.goals.is_empty() || plan.goals.len() > 2) {
        fields.problem("search", format!("a search with {} aims", plan.goals.len()), "one aim, or two for a front");
    }
    let spans = |variable: &&Variable| matches!(variable.values, Values::Span { .. });
    if plan.search.is_some() && plan.variables.iter().filter(spans).count() < plan.variables.len().max(1) {
        fields.problem("search", "a search without bounds", "`from` and `to` of each input in `vary`");
    }
    let space_filling = plan.search.is_some() || matches!(plan.sample, Sample::Sobol { .. });
    if space_filling && (plan.variables.is_empty() || plan.variables.len() > MOST_AXES) {
        fields.problem("vary", format!("{} inputs", plan.variables.len()), format!("1 to {MOST_AXES}"));
    }
    if !space_filling && let Some(endless) = plan.variables.iter().find(|variable| variable.values.count().is_none()) {
        let found = format!("no `count` of the input `{}`", endless.name);
        fields.problem("vary", found, "a `count` of each input with bounds, or a `sample`");
    }
    if plan.search.is_none() && plan.count() > MOST_RUNS {
        fields.problem("vary", format!("{} runs", plan.count()), format!("at most {MOST_RUNS}"));
    }
    let figures: Vec<&What> = plan.goals.iter().map(|goal| &goal.what).collect();
    let asks_power = figures.iter().any(|what| matches!(what, What::Figure(Quantity::Power | Quantity::Torque, _)));
    if asks_power && let Some(layout) = plan.layouts.iter().find(|layout| !layout.case.has_engine()) {
        fields.problem("aims", format!("power of the layout `{}`, which has no engine", layout.name), "an `engine`");
    }
}
