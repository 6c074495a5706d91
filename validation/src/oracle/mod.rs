//! Exact solutions and published laws, written from the literature. Nothing here calls the solver.

pub mod acoustics;
pub mod expansion;
pub mod fanno;
pub mod filter;
pub mod handbook;
pub mod mms;
pub mod nozzle;
pub mod orifice;
pub mod perfect_gas;
pub mod pipe_flow;
pub mod quadrature;
pub mod riemann;
pub mod root;
pub mod series;
pub mod shock;
pub mod transmission;
pub mod wall;
pub mod waves;
