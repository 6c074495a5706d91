//! Exact solutions and published laws, written from the literature. Nothing here calls the solver.

pub mod acoustics;
pub mod blowdown;
pub mod box_waves;
pub mod expansion;
pub mod fanno;
pub mod filter;
pub mod handbook;
pub mod linear_system;
pub mod mms;
pub mod nozzle;
pub mod orifice;
pub mod perfect_gas;
pub mod pipe_flow;
pub mod quadrature;
pub mod rayleigh;
pub mod riemann;
pub mod root;
pub mod series;
pub mod shared_box;
pub mod shock;
pub mod shock_passage;
pub mod transmission;
pub mod vessel;
pub mod wall;
pub mod waves;
