//! What a result file of a run holds, and the row that a moment of a march makes.

use super::{PROGRAM, power};
use crate::case::{Built, Case};
use crate::joint::side::{Rim, Side, tap_pressure};
use crate::ledger::Places;
use crate::march::{Marching, Moment};
use crate::network::{JointKind, JointState, Network, NetworkJoint};
use crate::record::{Attribute, Axis, Constant, Coordinates, Group, Layout, Precision, Series};
use std::collections::BTreeSet;

pub(super) use crate::ledger::GROUP as LEDGER;
/// Series of the integrals, in the order of [`Places`].
pub(super) const INTEGRALS: &str = "integrals";
/// Series of what the network holds.
pub(super) const STORED: &str = "stored";
/// Series of a draw's lowest and highest flow since the row before.
pub(super) const LOWEST_FLOW: &str = "lowest_mass_flow";
/// Series of the rise of a draw's air over the outside, by root cause, and of its integral over the mass drawn.
pub(super) const WARMTH: &str = "warmth";
/// See [`WARMTH`].
pub(super) const WARMTH_DRAWN: &str = "warmth_drawn";
/// See [`LOWEST_FLOW`].
pub(super) const HIGHEST_FLOW: &str = "highest_mass_flow";

/// The layout of a result and how its rows are filled.
#[derive(Debug)]
pub(super) struct Rows {
    layout: Layout,
    sources: Vec<Source>,
    /// Number of root causes of warmth; none of a march that does not follow it.
    roots: usize,
}

/// Where the values of one group come from, in the order of its series.
#[derive(Debug, Clone, Copy)]
enum Source {
    Duct(usize),
    Volume(usize),
    /// A part that is nothing but thermal: its first node.
    Node(usize),
    /// A draw: its joint, the side on which it stands, its number among the draws.
    Draw {
        joint: usize,
        side: usize,
        number: usize,
    },
    /// A mouth or inflow: joint, side, and the station of its stream.
    Opening {
        joint: usize,
        side: usize,
        station: usize,
    },
    /// A loss: joint and number in the series.
    Loss {
        joint: usize,
        number: usize,
    },
    Engine,
    Ledger,
}

fn series(name: &str, units: &str, long_name: &str, axis: Option<&str>, precision: Precision) -> Series {
    Series {
        name: name.to_owned(),
        units: units.to_owned(),
        long_name: long_name.to_owned(),
        axis: axis.map(str::to_owned),
        precision,
    }
}

fn names(name: &str, long_name: &str, names: Vec<String>) -> Axis {
    Axis {
        name: name.to_owned(),
        units: String::new(),
        long_name: long_name.to_owned(),
        coordinates: Coordinates::Names(names),
    }
}

impl Rows {
    /// The rows of `case` at `point`, whose march tells warmth by these `roots`; none where it does not follow it.
    pub(super) fn of(case: &Case, point: &str, built: &Built, roots: &[String]) -> Self {
        let network = &built.network;
        let mut groups = Vec::new();
        let mut sources = Vec::new();
        let mut add = |group: Group, source: Source| {
            groups.push(group);
            sources.push(source);
        };
        for duct in 0..network.ducts.len() {
            add(duct_group(network, duct), Source::Duct(duct));
        }
        for volume in 0..network.volumes.len() {
            add(volume_group(network, volume), Source::Volume(volume));
        }
        for (node, found) in network.thermal.nodes.iter().enumerate() {
            let has_air = network.ducts.contains(&found.part) || network.volumes.iter().any(|v| v.name == found.part);
            if !has_air {
                let kind = if found.drive.is_some() { "hot part" } else { "shield or hot part" };
                add(node_group(&found.part, kind), Source::Node(node));
            }
        }
        let (draws, mut told) = (network.draws(), BTreeSet::new());
        for (joint, found) in network.joints.iter().enumerate() {
            let JointKind::Series(series) = &found.kind else { continue };
            for (side, kind) in series.sides.iter().enumerate() {
                let name = &found.parts[side];
                let station = side * series.losses.len();
                match kind {
                    Side::Draw { .. } => {
                        let number = draws.iter().position(|draw| *draw == joint).unwrap_or(0);
                        add(draw_group(network, name, roots), Source::Draw { joint, side, number });
                    }
                    Side::Mouth { .. } => add(opening_group(name, "mouth"), Source::Opening { joint, side, station }),
                    Side::Inflow { .. } => add(opening_group(name, "inflow"), Source::Opening { joint, side, station }),
                    Side::Volume { rim: Rim::Mouth(_), .. } => {
                        // Its lip is the outermost loss of the joint; its stream is what has passed that.
                        let station = if side == 0 { station + 1 } else { station - 1 };
                        add(opening_group(name, "mouth"), Source::Opening { joint, side, station });
                    }
                    _ => {}
                }
            }
            for (number, loss) in found.losses.iter().enumerate().filter(|(_, loss)| loss.what.is_empty()) {
                // Of a tall vent, which is two openings, the lower one stands in the result.
                if told.insert(&loss.part) {
                    add(loss_group(&loss.part), Source::Loss { joint, number });
                }
            }
        }
        if let Some(group) = power::group(network) {
            add(group, Source::Engine);
        }
        add(ledger_group(network), Source::Ledger);
        let attributes = vec![
            ("title".to_owned(), case.title.clone().into()),
            ("source".to_owned(), PROGRAM.into()),
            ("history".to_owned(), format!("made by {PROGRAM}").into()),
            ("point".to_owned(), point.into()),
            ("case_name".to_owned(), case_name(case).into()),
        ];
        Self { layout: Layout { attributes, case: case.resolved_text(), groups }, sources, roots: roots.len() }
    }

    pub(super) fn layout(&self) -> &Layout {
        &self.layout
    }

    /// The values at a moment of a march, in the order of the layout.
    pub(super) fn row(&self, march: &impl Marching) -> Vec<f64> {
        let mut row = Vec::with_capacity(self.layout.row_length());
        let moment = march.moment();
        let warmth = if self.roots > 0 { march.warmth() } else { None };
        for source in &self.sources {
            push(*source, &moment, &mut row);
            if let Source::Draw { number, .. } = source {
                // A march that stands in for the slow one does not follow warmth.
                for of_draws in warmth.as_ref().map_or([&[][..]; 2], |warmth| [&warmth[0][..], &warmth[1]]) {
                    let of_draw = (0..self.roots).map(|root| of_draws.get(number * self.roots + root));
                    row.extend(of_draw.map(|warmth| warmth.copied().unwrap_or(f64::NAN)));
                }
            }
        }
        row
    }
}

fn case_name(case: &Case) -> String {
    let stem = std::path::Path::new(&case.file).file_stem();
    stem.map_or_else(|| "case".to_owned(), |stem| stem.to_string_lossy().into_owned())
}

fn duct_group(network: &Network, duct: usize) -> Group {
    let id = crate::flow::DuctId(duct);
    let (cells, step) = (network.arena.cells(id), network.arena.cell_length(id));
    let middles: Vec<f64> = (0..cells).map(|cell| (cell as f64 + 0.5) * step).collect();
    let x = Axis {
        name: "x".to_owned(),
        units: "m".to_owned(),
        long_name: "distance from the first end along the centre line".to_owned(),
        coordinates: Coordinates::Numbers(middles),
    };
    let area = Constant {
        name: "area".to_owned(),
        units: "m2".to_owned(),
        long_name: "mean cross-section of the cell".to_owned(),
        axis: "x".to_owned(),
        values: network.volumes_of(id).iter().map(|volume| volume / step).collect(),
    };
    Group {
        name: network.ducts[duct].clone(),
        kind: "duct".to_owned(),
        attributes: Vec::new(),
        axes: vec![x],
        constants: vec![area],
        series: vec![
            series("pressure", "Pa", "static pressure", Some("x"), Precision::F32),
            series("velocity", "m s-1", "velocity, positive from the first end to the last", Some("x"), Precision::F32),
            series("temperature", "K", "static temperature", Some("x"), Precision::F32),
        ]
        .into_iter()
        .chain(wall_series(network, &network.ducts[duct]))
        .collect(),
    }
}

fn volume_group(network: &Network, volume: usize) -> Group {
    Group {
        name: network.volumes[volume].name.clone(),
        kind: if network.thermal.bays.iter().any(|bay| bay.volume == volume) { "bay" } else { "plenum" }.to_owned(),
        axes: vec![names("origin", "where the air came in", network.origins.clone())],
        series: vec![
            series("pressure", "Pa", "pressure", None, Precision::F64),
            series("temperature", "K", "temperature", None, Precision::F64),
            series("share", "1", "share of the air by origin", Some("origin"), Precision::F64),
        ]
        .into_iter()
        .chain(wall_series(network, &network.volumes[volume].name))
        .collect(),
        ..Group::default()
    }
}

fn node_group(name: &str, kind: &str) -> Group {
    Group {
        name: name.to_owned(),
        kind: kind.to_owned(),
        series: vec![series("wall_temperature", "K", "temperature", None, Precision::F64)],
        ..Group::default()
    }
}

/// Series of the walls of a part that stores heat in them, from the inside to the outside; of the skin of a bay.
fn wall_series(network: &Network, part: &str) -> Vec<Series> {
    let walls = network.thermal.nodes.iter().filter(|node| node.part == part);
    walls
        .map(|node| {
            let name = node.series_name();
            let long_name = format!("temperature of the {}", if node.what.is_empty() { "wall" } else { &node.what });
            series(&name, "K", &long_name, None, Precision::F64)
        })
        .collect()
}

fn push_walls(moment: &Moment<'_>, part: &str, row: &mut Vec<f64>) {
    let nodes = moment.network.thermal.nodes.iter().enumerate().filter(|(_, node)| node.part == part);
    row.extend(nodes.map(|(index, _)| moment.network.node_temperature(moment.y, index)));
}

fn draw_group(network: &Network, name: &str, roots: &[String]) -> Group {
    let mut axes = vec![names("origin", "where the air came in", network.origins.clone())];
    let mut warmth = Vec::new();
    if !roots.is_empty() {
        axes.push(names("cause", "root cause of warmth", roots.to_vec()));
        let (now, drawn) = ("rise over the outside by root cause", "warmth drawn since the start by root cause");
        warmth.push(series(WARMTH, "K", now, Some("cause"), Precision::F64));
        warmth.push(series(WARMTH_DRAWN, "kg K", drawn, Some("cause"), Precision::F64));
    }
    Group {
        name: name.to_owned(),
        kind: "draw".to_owned(),
        axes,
        series: vec![
            series("mass_flow", "kg s-1", "mass flow into the draw", None, Precision::F64),
            series("total_pressure", "Pa", "total pressure at the draw", None, Precision::F64),
            series("total_temperature", "K", "total temperature at the draw", None, Precision::F64),
            series("static_pressure", "Pa", "static pressure of a wall tap at the draw", None, Precision::F64),
            series(LOWEST_FLOW, "kg s-1", "lowest mass flow since the row before", None, Precision::F64),
            series(HIGHEST_FLOW, "kg s-1", "highest mass flow since the row before", None, Precision::F64),
            series("share", "1", "share of the air by origin", Some("origin"), Precision::F64),
        ]
        .into_iter()
        .chain(warmth)
        .collect(),
        ..Group::default()
    }
}

fn opening_group(name: &str, kind: &str) -> Group {
    Group {
        name: name.to_owned(),
        kind: kind.to_owned(),
        series: vec![
            series("mass_flow", "kg s-1", "mass flow into the tract", None, Precision::F64),
            series("total_pressure", "Pa", "total pressure of the stream", None, Precision::F64),
        ],
        ..Group::default()
    }
}

fn loss_group(name: &str) -> Group {
    Group {
        name: name.to_owned(),
        kind: "loss".to_owned(),
        series: vec![
            series("mass_flow", "kg s-1", "mass flow in the order of the flow line", None, Precision::F64),
            series(
                "total_pressure_loss",
                "Pa",
                "total pressure before minus behind, in that order",
                None,
                Precision::F64,
            ),
        ],
        ..Group::default()
    }
}

fn ledger_group(network: &Network) -> Group {
    let mut kept = vec!["mass, kg".to_owned(), "energy, J".to_owned()];
    kept.extend(network.origins.iter().map(|origin| format!("mass of {origin}, kg")));
    Group {
        name: LEDGER.to_owned(),
        kind: "time integrals".to_owned(),
        attributes: vec![("reference_pressure".to_owned(), Attribute::Number(network.outside.pressure))],
        axes: vec![
            names("integral", "joint, duct or volume and what is integrated", integral_names(network)),
            names("kept", "what the network holds", kept),
        ],
        series: vec![
            series(
                INTEGRALS,
                "1",
                "time integrals since the start, each in the unit of its name",
                Some("integral"),
                Precision::F64,
            ),
            series(STORED, "1", "what the network holds, each in the unit of its name", Some("kept"), Precision::F64),
        ],
        ..Group::default()
    }
}

/// Names of the integrals, in the order of [`Places`].
fn integral_names(network: &Network) -> Vec<String> {
    let mut names = Vec::with_capacity(Places::of(network).count);
    for (index, joint) in network.joints.iter().enumerate() {
        joint_names(index, joint, network, &mut names);
    }
    for link in 0..network.links.len() {
        stream_names(&format!("link {link}"), &mut names);
        names.push(format!("link {link}: mass times log total pressure, kg"));
    }
    for duct in &network.ducts {
        names.extend([
            format!("{duct}: entropy of all drag over R, kg"),
            format!("{duct}: entropy of bends over R, kg"),
            format!("{duct}: entropy of widening over R, kg"),
            format!("{duct}: entropy of heat at speed over R, kg"),
            format!("{duct}: wall heat, J"),
        ]);
    }
    names.extend(network.volumes.iter().map(|volume| format!("{}: wall heat, J", volume.name)));
    names.push("heat from beyond into walls and bays, J".to_owned());
    names.push("heat that passed there either way, J".to_owned());
    for meter in &network.meters {
        let duct = &network.ducts[meter.duct.0];
        names.extend([
            format!("{duct}: mass past the air meter, kg"),
            format!("{duct}: mass that the air meter reads, kg"),
        ]);
    }
    names
}

fn stream_names(stream: &str, names: &mut Vec<String>) {
    names.push(format!("{stream}: mass, kg"));
    names.push(format!("{stream}: mass times total temperature, kg K"));
}

fn joint_names(index: usize, joint: &NetworkJoint, network: &Network, names: &mut Vec<String>) {
    let name = format!("joint {index}, {}", joint.name());
    match &joint.kind {
        JointKind::Series(_) => {
            stream_names(&name, names);
            names.extend(
                (0..=joint.losses.len()).map(|k| format!("{name}: mass times log total pressure at station {k}, kg")),
            );
            names.extend(network.origins.iter().map(|origin| format!("{name}: mass of {origin}, kg")));
        }
        JointKind::Wye(wye) => {
            for leg in 0..wye.ends.len() {
                stream_names(&format!("{name}, leg {leg}"), names);
                names.push(format!("{name}, leg {leg}: mass times log total pressure, kg"));
            }
        }
    }
}

fn push(source: Source, moment: &Moment<'_>, row: &mut Vec<f64>) {
    let (network, work) = (moment.network, moment.work);
    let series = |joint: usize| match &work.joints[joint] {
        JointState::Series(state) => state,
        JointState::Wye(_) => unreachable!("openings and losses stand in series joints"),
    };
    let shares = |joint: usize| work.stream_shares[joint * network.origins.len()..].iter().take(network.origins.len());
    let station = |joint: usize, side: usize| {
        let pressures = &series(joint).total_pressures;
        pressures[if side == 0 { 0 } else { pressures.len() - 1 }]
    };
    match source {
        Source::Duct(duct) => {
            let state = network.arena.cell_states(&work.cells, crate::flow::DuctId(duct));
            row.extend_from_slice(state.pressure);
            row.extend_from_slice(state.velocity);
            let gas_constant = network.gas.gas_constant;
            row.extend(state.pressure.iter().zip(state.density).map(|(p, rho)| p / (rho * gas_constant)));
            push_walls(moment, &network.ducts[duct], row);
        }
        Source::Volume(volume) => {
            row.extend([work.volumes[volume].pressure, work.volumes[volume].temperature]);
            let stored = network.layout.volume(moment.y, volume);
            row.extend(stored[2..].iter().map(|mass| mass / stored[0]));
            push_walls(moment, &network.volumes[volume].name, row);
        }
        Source::Node(node) => row.push(network.node_temperature(moment.y, node)),
        Source::Draw { joint, side, number } => {
            let state = series(joint);
            let flow = if side == 1 { state.mass_flow } else { -state.mass_flow };
            let (total, temperature) = (station(joint, side), state.total_temperature);
            let tap = tap_pressure(&network.gas, flow, temperature, network.draw_area(joint), total);
            let [lowest, highest] = moment.integrals.extremes[number];
            // Before the first step there is nothing but the flow at the start.
            row.extend([flow, total, temperature, tap, lowest.min(flow), highest.max(flow)]);
            row.extend(shares(joint));
        }
        Source::Opening { joint, side, station } => {
            let state = series(joint);
            row.extend([if side == 0 { state.mass_flow } else { -state.mass_flow }, state.total_pressures[station]]);
        }
        Source::Loss { joint, number } => {
            let state = series(joint);
            row.extend([state.mass_flow, state.total_pressures[number] - state.total_pressures[number + 1]]);
        }
        Source::Engine => power::push(moment, row),
        Source::Ledger => {
            row.extend_from_slice(&moment.integrals.values);
            row.extend(network.stored(moment.y));
        }
    }
}
