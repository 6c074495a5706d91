//! Rows of a measured map, sorted into speed lines, and what can be wrong with them.

/// A measured point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapRow {
    /// Corrected speed [rad/s].
    pub corrected_speed: f64,
    /// Corrected flow [kg/s].
    pub corrected_flow: f64,
    /// Pressure ratio, total to total.
    pub pressure_ratio: f64,
    /// Isentropic efficiency, total to total.
    pub efficiency: f64,
}

/// Why a map cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}found {found}, expected {expected}", row.map_or_else(String::new, |row| format!("row {}: ", row + 1)))]
pub struct MapFault {
    /// The row at fault, counted from nothing; none when it is the map as a whole.
    pub row: Option<usize>,
    /// What the map says.
    pub found: String,
    /// What would be right.
    pub expected: String,
}

/// Fewest speed lines, and points of a line.
pub(super) const FEWEST: usize = 3;

/// A row and its number.
pub(super) type Numbered = (usize, MapRow);

pub(super) fn fault<T>(
    row: impl Into<Option<usize>>,
    found: String,
    expected: impl Into<String>,
) -> Result<T, MapFault> {
    Err(MapFault { row: row.into(), found, expected: expected.into() })
}

/// The speed lines, rising in speed, and their points, rising in flow.
pub(super) fn sort(rows: &[MapRow]) -> Result<Vec<Vec<Numbered>>, MapFault> {
    for (number, row) in rows.iter().enumerate() {
        check(number, row)?;
    }
    let mut sorted: Vec<Numbered> = rows.iter().copied().enumerate().collect();
    sorted.sort_by(|(_, one), (_, other)| {
        let by_speed = one.corrected_speed.total_cmp(&other.corrected_speed);
        by_speed.then(one.corrected_flow.total_cmp(&other.corrected_flow))
    });
    let same_speed = |one: &Numbered, other: &Numbered| {
        other.1.corrected_speed - one.1.corrected_speed <= 1e-9 * other.1.corrected_speed
    };
    let lines: Vec<Vec<Numbered>> = sorted.chunk_by(same_speed).map(<[Numbered]>::to_vec).collect();
    for line in &lines {
        if line.len() < FEWEST {
            let points = format!("{} points at this speed", line.len());
            return fault(
                line[0].0,
                points,
                format!("at least {FEWEST}; points of a line share their speed to the last digit"),
            );
        }
        if let Some(pair) = line.windows(2).find(|pair| pair[0].1.corrected_flow >= pair[1].1.corrected_flow) {
            let earlier = pair[0].0.min(pair[1].0);
            return fault(
                pair[0].0.max(pair[1].0),
                format!("the flow of row {} again", earlier + 1),
                "each flow of a line once",
            );
        }
    }
    if lines.len() < FEWEST {
        return fault(None, format!("{} speed lines", lines.len()), format!("at least {FEWEST}"));
    }
    Ok(lines)
}

fn check(number: usize, row: &MapRow) -> Result<(), MapFault> {
    let above_nothing = [("speed", row.corrected_speed), ("flow", row.corrected_flow)];
    for (name, value) in above_nothing {
        if !(value > 0.0 && value.is_finite()) {
            return fault(number, format!("a corrected {name} of {value}"), "more than 0");
        }
    }
    if !(row.pressure_ratio > 0.0 && row.pressure_ratio.is_finite()) {
        return fault(number, format!("a pressure ratio of {}", row.pressure_ratio), "more than 0");
    }
    if !(row.efficiency > 0.0 && row.efficiency < 1.0) {
        return fault(number, format!("an efficiency of {}", row.efficiency), "between 0 and 1");
    }
    Ok(())
}
