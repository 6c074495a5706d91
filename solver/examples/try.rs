#![allow(clippy::print_stdout)]
use tractwright::{
    case::Case,
    run::{self, Options, Watcher},
};
struct W;
impl Watcher for W {
    fn progress(&mut self, _: f64, _: f64, _: u64) {}
}
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let case = match Case::from_path(a[1].as_ref()) {
        Ok(c) => c,
        Err(e) => {
            eprintln!("{e}");
            return;
        }
    };
    let out = std::path::PathBuf::from("/tmp/out");
    std::fs::create_dir_all(&out).unwrap();
    let p = run::result_path(&case, &a[2], &out).unwrap();
    match run::run(&case, &a[2], &p, Options { force: true, ..Options::default() }, &mut W) {
        Ok(r) => println!("{r:?}"),
        Err(e) => {
            println!("ERR {e}");
            return;
        }
    }
    println!("{}", serde_json::to_string_pretty(&run::read_summary(&p).unwrap()).unwrap());
}
