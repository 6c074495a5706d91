//! The form of a case as a JSON Schema, for completion in editors.
//!
//! Draft 7, which the common YAML language server reads. It is generated from the tables that the parser reads, and a little wider
//! than the parser: it knows nothing of what a part copies by `like` or inherits by `extends`.

use serde_json::{Map, Value as Json, json};

use super::{keys, sections, speed_lines};
use crate::fields::{Key, LONGEST_NAME, Need, Range, Value};
use crate::part::{KINDS, Kind};
use crate::quantity::Dimension;

/// JSON Schema (draft 7) of a case, as text.
#[must_use]
pub fn schema() -> String {
    // A tree of texts and numbers has nothing that cannot be written.
    serde_json::to_string_pretty(&of_case(KINDS)).unwrap_or_default()
}

/// JSON Schema (draft 7) of a file of a table of keys, as text.
#[must_use]
pub(crate) fn schema_of(title: &str, keys: &[Key]) -> String {
    let mut root = of_nested(keys);
    root.insert("$schema".to_owned(), json!("http://json-schema.org/draft-07/schema#"));
    root.insert("title".to_owned(), json!(title));
    serde_json::to_string_pretty(&Json::Object(root)).unwrap_or_default()
}

fn of_case(kinds: &[Kind]) -> Json {
    let mut root = of_map(keys::CASE_KEYS, |key| match key.name {
        "parts" => named(json!({"$ref": "#/definitions/part"})),
        "flow" => {
            let name = json!({"type": "string"});
            json!({"type": "array", "items": {"type": "array", "items": name, "minItems": 2}})
        }
        _ => or_null(of_value(&key.value)),
    });
    root.insert("$schema".to_owned(), json!("http://json-schema.org/draft-07/schema#"));
    root.insert("title".to_owned(), json!("Tractwright case"));
    root.remove("required");
    root.insert("anyOf".to_owned(), json!([{"required": ["extends"]}, {"required": ["parts", "flow"]}]));
    loosen_points(&mut root);
    let mut definitions: Map<String, Json> = kinds.iter().map(|kind| (kind.name.to_owned(), of_kind(kind))).collect();
    definitions.insert("part".to_owned(), of_part(kinds));
    root.insert("definitions".to_owned(), Json::Object(definitions));
    Json::Object(root)
}

/// Lets a case that extends another state only what it changes of its points.
fn loosen_points(root: &mut Map<String, Json>) {
    let Some(points) = root.get_mut("properties").and_then(|properties| properties.get_mut("points")) else { return };
    let strict = points.clone();
    *points = loosened(points.take());
    root.insert("if".to_owned(), json!({"required": ["extends"]}));
    root.insert("then".to_owned(), json!({}));
    root.insert("else".to_owned(), json!({"properties": {"points": strict}}));
}

/// A schema in which no key of a map is required and each may be deleted by `null`.
fn loosened(schema: Json) -> Json {
    let inner = |(name, value): (String, Json)| match (name.as_str(), value) {
        ("properties", Json::Object(keys)) => {
            let keys = keys.into_iter().map(|(key, value)| (key, or_null(loosened(value)))).collect();
            (name, Json::Object(keys))
        }
        ("additionalProperties", value @ Json::Object(_)) => (name, or_null(loosened(value))),
        ("anyOf", Json::Array(choices)) => (name, choices.into_iter().map(loosened).collect()),
        (_, value) => (name, value),
    };
    match schema {
        Json::Object(map) => map.into_iter().filter(|(name, _)| name != "required").map(inner).collect(),
        other => other,
    }
}

/// Any part: its kind says which keys it has; without a kind it changes another part, and `null` deletes it.
fn of_part(kinds: &[Kind]) -> Json {
    let words: Vec<&str> = kinds.iter().map(|kind| kind.name).collect();
    let choice = |kind: &Kind| {
        json!({
            "if": {"type": "object", "properties": {"kind": {"const": kind.name}}, "required": ["kind"]},
            "then": {"$ref": format!("#/definitions/{}", kind.name)},
        })
    };
    json!({
        "type": ["object", "null"],
        "properties": {
            "kind": {"enum": words, "description": "What the part is."},
            "like": {"type": "string", "description": "Another part, of which this one states the changes."},
        },
        "allOf": kinds.iter().map(choice).collect::<Vec<_>>(),
    })
}

fn of_kind(kind: &Kind) -> Json {
    let mut map = of_map(kind.keys, |key| of_value(&key.value));
    map.insert("description".to_owned(), json!(kind.about));
    if let Some(Json::Object(properties)) = map.get_mut("properties") {
        properties.insert("kind".to_owned(), json!({"const": kind.name}));
        properties.insert("like".to_owned(), json!({"type": "string"}));
    }
    if let Some(required) = map.remove("required") {
        map.insert("anyOf".to_owned(), json!([{"required": ["like"]}, {"required": required}]));
    }
    Json::Object(map)
}

/// A map with a table of keys; `of` gives the schema of each key's value.
fn of_map(keys: &[Key], of: impl Fn(&Key) -> Json) -> Map<String, Json> {
    let property = |key: &Key| (key.name.to_owned(), described(of(key), key));
    let mut properties: Map<String, Json> = keys.iter().map(property).collect();
    for key in [sections::KEY, speed_lines::KEY] {
        if let Some(table) = properties.get_mut(key) {
            let list = table.take();
            *table = json!({"anyOf": [list, {"type": "string", "pattern": "\\.csv$"}]});
        }
    }
    let required: Vec<&str> = keys.iter().filter(|key| key.need == Need::Required).map(|key| key.name).collect();
    let mut map = Map::new();
    map.insert("type".to_owned(), json!("object"));
    map.insert("properties".to_owned(), Json::Object(properties));
    map.insert("additionalProperties".to_owned(), json!(false));
    if !required.is_empty() {
        map.insert("required".to_owned(), json!(required));
    }
    map
}

fn described(mut schema: Json, key: &Key) -> Json {
    let text = match key.need {
        Need::Required => format!("{} Required.", sentence(key.about)),
        Need::Optional("") => sentence(key.about),
        Need::Optional(holds) => format!("{} Without it: {holds}.", sentence(key.about)),
    };
    if let Json::Object(map) = &mut schema {
        map.insert("description".to_owned(), json!(text));
    }
    schema
}

fn sentence(about: &str) -> String {
    if about.is_empty() || about.ends_with('.') { about.to_owned() } else { format!("{about}.") }
}

fn of_value(value: &Value) -> Json {
    match value {
        Value::Quantity(dimension, range) => of_quantity(*dimension, *range),
        Value::Quantities(dimension, range) => of_quantities(*dimension, *range),
        Value::Count => json!({"type": "integer", "minimum": 0}),
        Value::Word(words) => json!({"enum": words}),
        Value::Text => json!({"type": ["string", "number", "boolean"]}),
        Value::Names => json!({"type": "array", "items": {"type": "string"}}),
        Value::Flag => json!({"enum": [true, false, "yes", "no"]}),
        Value::Map(keys) => Json::Object(of_nested(keys)),
        Value::Maps(keys) => json!({"type": "array", "items": of_nested(keys)}),
        Value::Named(dimension, range) => named(of_quantity(*dimension, *range)),
        Value::NamedMaps(keys) => named(Json::Object(of_nested(keys))),
        Value::Tuple(dimensions) => {
            let items: Vec<Json> = dimensions.iter().map(|&dimension| of_quantity(dimension, Range::Any)).collect();
            json!({"type": "array", "items": items, "minItems": items.len(), "maxItems": items.len()})
        }
        Value::Either(first, second) => json!({"anyOf": [of_value(first), of_value(second)]}),
        Value::Anything(_) => json!({}),
    }
}

/// A nested map; what an operating point changes of the outside and of parts has no required keys.
fn of_nested(keys: &[Key]) -> Map<String, Json> {
    of_map(keys, |key| match (key.name, &key.value) {
        ("outside", Value::Anything(_)) => {
            let mut outside = of_nested(keys::OUTSIDE_KEYS);
            outside.remove("required");
            Json::Object(outside)
        }
        ("parts", Value::Anything(_)) => named(json!({"type": "object"})),
        (_, value) => of_value(value),
    })
}

/// A map from names that the user chooses.
fn named(value: Json) -> Json {
    let names = json!({"pattern": "^[^-./\\s][^./\\s]*$", "maxLength": LONGEST_NAME});
    json!({"type": "object", "propertyNames": names, "additionalProperties": value})
}

fn or_null(value: Json) -> Json {
    json!({"anyOf": [value, {"type": "null"}]})
}

fn of_quantity(dimension: Dimension, range: Range) -> Json {
    let spread = spread(dimension);
    let text = json!({"type": "string", "pattern": format!("^{}({}|{spread})$", number(range), unit(dimension))});
    match dimension {
        Dimension::Ratio => json!({"anyOf": [of_number(range), text]}),
        _ => text,
    }
}

fn of_quantities(dimension: Dimension, range: Range) -> Json {
    let number = number(range);
    let text = json!({"type": "string", "pattern": format!("^({number} +)*{number}{}$", unit(dimension))});
    let list = json!({"type": "array", "items": of_quantity(dimension, range), "minItems": 1});
    match dimension {
        Dimension::Ratio => json!({"anyOf": [of_number(range), text, list]}),
        _ => json!({"anyOf": [text, list]}),
    }
}

/// A bare number.
fn of_number(range: Range) -> Json {
    match range {
        Range::Any => json!({"type": "number"}),
        Range::Positive => json!({"type": "number", "exclusiveMinimum": 0}),
        Range::NotNegative => json!({"type": "number", "minimum": 0}),
        Range::Share => json!({"type": "number", "minimum": 0, "maximum": 1}),
        Range::Between(least, most) => json!({"type": "number", "minimum": least, "maximum": most}),
    }
}

/// Pattern of a number; without a minus where none is allowed.
fn number(range: Range) -> String {
    let negative = match range {
        Range::Any => true,
        Range::Between(least, _) => least < 0.0,
        Range::Positive | Range::NotNegative | Range::Share => false,
    };
    let sign = if negative { "[-+]?" } else { "\\+?" };
    format!("{sign}([0-9]+\\.?[0-9]*|\\.[0-9]+)([eE][-+]?[0-9]+)?")
}

/// Pattern of a spread with the units of a dimension.
fn spread(dimension: Dimension) -> String {
    format!(" *\\+- *{}{}( +(normal|uniform))?", number(Range::NotNegative), unit(dimension))
}

/// Pattern of the units of a dimension, with the spaces before them; `1/m` needs one, or its digit would be the number's.
fn unit(dimension: Dimension) -> String {
    let escaped = |symbol: &str| symbol.replace('(', "\\(").replace(')', "\\)").replace('/', "\\/");
    let spaces = |symbol: &str| if symbol.starts_with(|c: char| c.is_ascii_digit()) { " +" } else { " *" };
    let one = |symbol: &str| format!("{}{}", spaces(symbol), escaped(symbol));
    let symbols: Vec<String> = dimension.units().iter().map(|unit| one(unit.symbol)).collect();
    format!("({})", symbols.join("|"))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::quantity;

    /// Whether a value fits a schema: the keywords that ours uses, patterns left out.
    fn fits(value: &Json, schema: &Json, root: &Json) -> bool {
        let Json::Object(schema) = schema else { return true };
        schema.iter().all(|(keyword, rule)| match keyword.as_str() {
            "$ref" => fits(
                value,
                &root["definitions"][rule.as_str().unwrap_or("").trim_start_matches("#/definitions/")],
                root,
            ),
            "type" => match rule {
                Json::Array(names) => names.iter().any(|name| is_of_type(value, name)),
                name => is_of_type(value, name),
            },
            "enum" => rule.as_array().is_some_and(|words| words.contains(value)),
            "const" => rule == value,
            "anyOf" => rule.as_array().is_some_and(|all| all.iter().any(|one| fits(value, one, root))),
            "allOf" => rule.as_array().is_some_and(|all| all.iter().all(|one| fits(value, one, root))),
            "if" if fits(value, rule, root) => fits(value, &schema["then"], root),
            "if" => schema.get("else").is_none_or(|rule| fits(value, rule, root)),
            "required" => {
                rule.as_array().is_some_and(|all| all.iter().all(|key| value.get(key.as_str().unwrap_or("")).is_some()))
            }
            "properties" => value.as_object().is_none_or(|map| {
                map.iter().all(|(key, inner)| rule.get(key).is_none_or(|schema| fits(inner, schema, root)))
            }),
            "additionalProperties" => value.as_object().is_none_or(|map| {
                let known = |key: &String| schema.get("properties").is_some_and(|known| known.get(key).is_some());
                map.iter().filter(|(key, _)| !known(key)).all(|(_, inner)| {
                    if rule.is_boolean() { *rule == Json::Bool(true) } else { fits(inner, rule, root) }
                })
            }),
            "items" => value.as_array().is_none_or(|list| match rule {
                Json::Array(rules) => list.iter().zip(rules).all(|(inner, rule)| fits(inner, rule, root)),
                rule => list.iter().all(|inner| fits(inner, rule, root)),
            }),
            "minItems" => value.as_array().is_none_or(|list| list.len() as u64 >= rule.as_u64().unwrap_or(0)),
            "maxItems" => value.as_array().is_none_or(|list| list.len() as u64 <= rule.as_u64().unwrap_or(0)),
            "minimum" => value.as_f64().is_none_or(|number| number >= rule.as_f64().unwrap_or(f64::MAX)),
            "maximum" => value.as_f64().is_none_or(|number| number <= rule.as_f64().unwrap_or(f64::MIN)),
            "exclusiveMinimum" => value.as_f64().is_none_or(|number| number > rule.as_f64().unwrap_or(f64::MAX)),
            "$schema" | "title" | "description" | "definitions" | "then" | "else" | "pattern" | "propertyNames" => true,
            unknown => panic!("the keyword {unknown} is not checked"),
        })
    }

    fn is_of_type(value: &Json, name: &Json) -> bool {
        match name.as_str() {
            Some("object") => value.is_object(),
            Some("array") => value.is_array(),
            Some("string") => value.is_string(),
            Some("number") => value.is_number(),
            Some("integer") => value.is_u64() || value.is_i64(),
            Some("boolean") => value.is_boolean(),
            Some("null") => value.is_null(),
            _ => false,
        }
    }

    fn accepts(text: &str) -> bool {
        let root: Json = serde_json::from_str(&schema()).expect("JSON");
        fits(&serde_yaml::from_str(text).expect("YAML"), &root, &root)
    }

    #[test]
    fn the_example_of_every_kind_fits_and_a_slip_in_it_does_not() {
        assert!(KINDS.len() > 10);
        for kind in KINDS {
            let case = |part: &str| format!("parts: {{a: {part}, b: {{like: a}}}}\nflow: [[a, b]]\n");
            assert!(accepts(&case(kind.example)), "{}", kind.example);
            let slip = kind.example.replacen('{', "{colour: red, ", 1);
            assert!(!accepts(&case(&slip)), "{slip}");
        }
    }

    #[test]
    fn sections_and_words_are_held_to_their_tables() {
        let case = |rest: &str| format!("parts: {{a: {{kind: wall}}}}\nflow: [[a, a]]\n{rest}\n");
        for right in [
            "run: {until: settled, limiter: van_leer, courant: 0.5}",
            "run: {until: 0.4 s}",
            "points: {road: {speed: 45 m/s, fan: {speed: 12 m/s, reaches: [a]}, outside: {temperature: 30 degC}, parts: {a: {x: 1}}}}",
            "initial: [{part: a, pressure: 2 bar}]",
            "outside: {gas: {gamma: 1.4, gas_constant: 287 J/(kg K)}}",
        ] {
            assert!(accepts(&case(right)), "{right}");
        }
        for wrong in [
            "run: {limiter: superbee}",
            "run: {courant: 2}",
            "run: {untl: 0.4 s}",
            "points: {road: {outside: {temprature: 30 degC}}}",
            "points: {dyno: {fan: {speed: 12 m/s}}}",
            "initial: {part: a}",
            "outside: {gas: {gamma: 1.4}}",
        ] {
            assert!(!accepts(&case(wrong)), "{wrong}");
        }
        assert!(accepts("extends: base.yaml\nrun: null\n") && !accepts("title: x\n"));
        assert!(accepts("extends: base.yaml\nparts: {a: null}\npoints: {road: null, dyno: {fan: {reaches: [a]}}}\n"));
        assert!(!accepts("extends: base.yaml\npoints: {dyno: {fun: null}}\n"));
        assert!(!accepts("parts: {a: {kind: walls}}\nflow: [[a, a]]\n"));
        assert!(!accepts("parts: {a: {kind: duct}}\nflow: [[a, a]]\n"));
        assert!(!accepts("parts: {a: {kind: wall}}\nflow: [[a]]\n"));
    }

    proptest! {
        #[test]
        fn a_text_made_from_the_pattern_is_a_quantity(
            (dimension, text) in (0..Dimension::ALL.len()).prop_flat_map(|index| {
                let dimension = Dimension::ALL[index];
                let pattern = format!("{}({}|{})", number(Range::Any), unit(dimension), spread(dimension));
                let pattern = pattern.replace("[0-9]+)?", "[0-9]{1,2})?");
                (Just(dimension), proptest::string::string_regex(&pattern).expect("a pattern without anchors"))
            })
        ) {
            prop_assert!(quantity::parse(&text, dimension).is_ok(), "{}", text);
        }
    }
}
