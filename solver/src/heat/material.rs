//! Materials of walls, shields and hot parts.

/// A material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Word in a case.
    pub name: &'static str,
    /// Conductivity [W/(m K)].
    pub conductivity: f64,
    /// Density [kg/m^3].
    pub density: f64,
    /// Heat capacity [J/(kg K)].
    pub heat_capacity: f64,
    /// Emissivity of its surface.
    pub emissivity: f64,
    /// Temperature that it must not pass [K], and what happens there.
    pub limit: Option<(f64, &'static str)>,
    /// Where the numbers come from.
    pub source: &'static str,
}

/// A sheet of one material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// Thickness [m].
    pub thickness: f64,
    /// Conductivity [W/(m K)].
    pub conductivity: f64,
    /// Heat stored by an area [J/(m^2 K)].
    pub areal_capacity: f64,
}

impl Material {
    /// A sheet of `thickness` [m].
    #[must_use]
    pub fn layer(&self, thickness: f64) -> Layer {
        let areal_capacity = self.density * self.heat_capacity * thickness;
        Layer { thickness, conductivity: self.conductivity, areal_capacity }
    }
}

impl Layer {
    /// Conductance between the middles of this layer and the next one [W/(m^2 K)].
    #[must_use]
    pub fn conductance_to(&self, next: &Self) -> f64 {
        1.0 / (0.5 * self.thickness / self.conductivity + 0.5 * next.thickness / next.conductivity)
    }
}

const COMPOSITE: &str = "from memory: laminates of epoxy, +-20 %; emissivity 0.8 to 0.9";
const INCROPERA: &str = "Incropera et al., 7th ed. 2011, tables A.1 and A.11";

/// Glass transition of an epoxy that cures at 80 degC; data sheets of such resins give 80 to 100 degC. From memory.
const RESIN: Option<(f64, &str)> =
    Some((363.15, "glass transition of a resin cured at 80 degC; ask the data sheet of yours"));

/// Every material, in the order the help prints them.
pub const MATERIALS: &[Material] = &[
    Material {
        name: "carbon composite",
        conductivity: 0.8,
        density: 1550.0,
        heat_capacity: 900.0,
        emissivity: 0.85,
        limit: RESIN,
        source: COMPOSITE,
    },
    Material {
        name: "glass-fibre plastic",
        conductivity: 0.35,
        density: 1800.0,
        heat_capacity: 1000.0,
        emissivity: 0.9,
        limit: RESIN,
        source: COMPOSITE,
    },
    Material {
        name: "plastic",
        conductivity: 0.3,
        density: 1360.0,
        heat_capacity: 1600.0,
        emissivity: 0.92,
        limit: Some((423.15, "long service of a polyamide with glass; from memory")),
        source: "from memory: polyamide with 30 % glass, +-10 %",
    },
    Material {
        name: "aluminium",
        conductivity: 200.0,
        density: 2700.0,
        heat_capacity: 897.0,
        emissivity: 0.15,
        limit: None,
        source: INCROPERA,
    },
    Material {
        name: "polished aluminium foil",
        conductivity: 237.0,
        density: 2700.0,
        heat_capacity: 897.0,
        emissivity: 0.05,
        limit: None,
        source: INCROPERA,
    },
    Material {
        name: "gold-faced foil",
        conductivity: 0.3,
        density: 1800.0,
        heat_capacity: 1000.0,
        emissivity: 0.05,
        limit: None,
        source: "from memory: gold 0.02 to 0.03 when clean, 0.05 to 0.1 in service; glass cloth behind it",
    },
    Material {
        name: "silicone hose",
        conductivity: 0.25,
        density: 1250.0,
        heat_capacity: 1300.0,
        emissivity: 0.9,
        limit: Some((453.15, "long service of silicone; from memory")),
        source: "from memory, +-15 %",
    },
    Material {
        name: "cast iron",
        conductivity: 45.0,
        density: 7200.0,
        heat_capacity: 500.0,
        emissivity: 0.7,
        limit: None,
        source: "from memory: oxidised, emissivity 0.6 to 0.8",
    },
    Material {
        name: "steel",
        conductivity: 45.0,
        density: 7850.0,
        heat_capacity: 470.0,
        emissivity: 0.85,
        limit: None,
        source: "Incropera et al., 7th ed. 2011, table A.1; emissivity of paint",
    },
];

/// The material of this name.
#[must_use]
pub fn find(name: &str) -> Option<&'static Material> {
    MATERIALS.iter().find(|material| material.name == name)
}
