use crate::checks::*;
use crate::marched::*;
use crate::oracle::nozzle::Nozzle;
use tractwright::flow::End;
#[test]
fn scan() {
    let b = nozzle::BenchNozzle::named("cdv_supersonic", Nozzle::COSINES).unwrap();
    let t = Tract::read(&b.case()).unwrap();
    let m = t.march().unwrap();
    println!("{:?} t={} steps {}", m.rake("nozzle", End::First).unwrap(), m.march.clock.time, m.march.clock.step);
    println!("{:?}", m.rake("nozzle", End::Last).unwrap());
    for c in m.cells("nozzle").unwrap().iter().step_by(10) {
        println!("{:.4} M {:.4} p {:.1}", c.low, c.mach(crate::oracle::perfect_gas::PerfectGas::AIR), c.state.pressure);
    }
}
#[test]
fn cone_settles() {
    for c in [0.8, 0.4] {
        let text = cone::BenchCone.case(c).replace("settled_below: 0.000000001", "settled_below: 0.0000001");
        println!("{text}");
        let t = Tract::read(&text).unwrap();
        let mut m = t.at_start();
        let o = m.march.run(&mut tractwright::march::Unobserved);
        println!("{o:?} t={} steps {}", m.march.clock.time, m.march.clock.step);
        let (a, b) = (m.rake("cone", End::First).unwrap(), m.rake("cone", End::Last).unwrap());
        println!("{a:?}\n{b:?} {}", a.total_pressure - b.total_pressure);
        let v = m.march.save();
        for (n, v) in v.blocks {
            if n == "watches" {
                println!("{v:?}")
            }
        }
    }
}
