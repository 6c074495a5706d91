use tractwright::march::slow::steady;
use tractwright_validation::drawing::Drawing;
use tractwright_validation::random_tract::open_tract;
fn is_held(drawing: &Drawing, text: &str) -> bool {
    let ends = drawing.lines.iter().flatten().any(|name| name == "outside");
    ends || drawing.kinds().any(|kind| ["mouth", "scoop", "bay"].contains(&kind)) || text.contains("depression")
}
fn main() {
    let args: Vec<u64> = std::env::args().skip(1).map(|a| a.parse().unwrap()).collect();
    let one = |seed: u64, rooms: usize, show: bool| {
        let drawing = open_tract(seed, rooms);
        let text = drawing.case("until: steady, cell: 20 mm");
        if !is_held(&drawing, &text) {
            return None;
        }
        if show {
            println!("{text}");
        }
        let case = tractwright::case::Case::from_text("t", &text).unwrap();
        let built = case.build("rest").or_else(|_| case.build(&case.points[0].name)).unwrap();
        let n = &built.network;
        let r = steady(n, 0.0, n.initial_state(&[]), vec![0.0; n.layout.unknowns]);
        Some(r.map(|s| s.iterations).map_err(|e| e.to_string()))
    };
    if args.len() == 2 {
        println!("{:?}", one(args[0], args[1] as usize, true));
        return;
    }
    let (mut held, mut found) = (0, 0);
    for k in 0..args[0] {
        let (seed, rooms) = (k * 7919 + 13, 1 + (k % 3) as usize);
        if let Some(r) = one(seed, rooms, false) {
            held += 1;
            match r {
                Ok(_) => found += 1,
                Err(e) => println!("{seed}/{rooms}: {e}"),
            }
        }
    }
    println!("{found} of {held}");
}
