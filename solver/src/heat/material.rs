//! Materials of walls, shields and hot parts, near 300 K.

use super::layers::Layer;

/// A temperature that a material must not pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Temperature [K].
    pub temperature: f64,
    /// What happens there.
    pub what: &'static str,
    /// Where the value comes from.
    pub source: &'static str,
}

/// A material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Word in a case.
    pub name: &'static str,
    /// Conductivity across a sheet [W/(m K)].
    pub conductivity: f64,
    /// Density [kg/m^3].
    pub density: f64,
    /// Heat capacity [J/(kg K)].
    pub heat_capacity: f64,
    /// Total hemispherical emissivity of its surface.
    pub emissivity: f64,
    /// Temperature it must not pass.
    pub limit: Option<Limit>,
    /// Where the values come from.
    pub source: &'static str,
}

impl Material {
    /// A sheet of `thickness` [m].
    #[must_use]
    pub fn layer(&self, thickness: f64) -> Layer {
        let &Self { conductivity, density, heat_capacity, .. } = self;
        Layer { thickness, conductivity, density, heat_capacity }
    }
}

/// Softening of a laminate whose resin cured in the warm.
const RESIN: Option<Limit> = Some(Limit {
    temperature: 343.15,
    what: "glass transition of an epoxy that cured at room temperature",
    source: "from memory, +-10 K; resins cured hot reach 390 K and more",
});

/// Every material, in the order that help prints them.
pub const MATERIALS: &[Material] = &[
    Material {
        name: "carbon composite",
        conductivity: 0.8,
        density: 1_550.0,
        heat_capacity: 935.0,
        emissivity: 0.85,
        limit: RESIN,
        source: "heat capacity of graphite and epoxy: Incropera et al., 7th ed., table A.2; conductivity across the fibres \
                 (same table 0.87 at 25 % fibre) from memory, +-20 %; density from memory, +-5 %; emissivity from memory, +-0.05",
    },
    Material {
        name: "glass-fibre plastic",
        conductivity: 0.35,
        density: 1_800.0,
        heat_capacity: 1_000.0,
        emissivity: 0.9,
        limit: RESIN,
        source: "a laminate of glass and epoxy, from memory, +-20 %; emissivity +-0.05",
    },
    Material {
        name: "plastic",
        conductivity: 0.3,
        density: 1_370.0,
        heat_capacity: 1_600.0,
        emissivity: 0.92,
        limit: Some(Limit {
            temperature: 403.15,
            what: "long service of a heat-stabilised polyamide with glass",
            source: "from memory, +-15 K",
        }),
        source: "moulded polyamide 66 with 30 % glass, from memory, +-10 %; emissivity +-0.03",
    },
    Material {
        name: "aluminium",
        conductivity: 177.0,
        density: 2_770.0,
        heat_capacity: 875.0,
        emissivity: 0.15,
        limit: None,
        source: "Incropera et al., 7th ed., table A.1, alloy 2024-T6; emissivity of an oxidised face 0.1 to 0.2, Siegel and Howell",
    },
    Material {
        name: "polished aluminium foil",
        conductivity: 237.0,
        density: 2_702.0,
        heat_capacity: 903.0,
        emissivity: 0.05,
        limit: None,
        source: "Incropera et al., 7th ed., table A.1, pure; emissivity 0.04 to 0.07 when bright, table A.11",
    },
    Material {
        name: "gold-faced foil",
        conductivity: 0.2,
        density: 1_420.0,
        heat_capacity: 1_090.0,
        emissivity: 0.03,
        limit: Some(Limit { temperature: 533.15, what: "silicone adhesive of a tape", source: "from memory, +-30 K" }),
        source: "polyimide film, from memory, +-10 %; emissivity of clean gold, Incropera et al., 7th ed., table A.11; 0.05 to 0.1 \
                 with dirt, from memory",
    },
    Material {
        name: "silicone hose",
        conductivity: 0.25,
        density: 1_250.0,
        heat_capacity: 1_300.0,
        emissivity: 0.9,
        limit: Some(Limit {
            temperature: 453.15,
            what: "long service of silicone rubber",
            source: "from memory, +-15 K",
        }),
        source: "silicone rubber with fabric, from memory, +-20 %; emissivity +-0.05",
    },
    Material {
        name: "cast iron",
        conductivity: 50.0,
        density: 7_200.0,
        heat_capacity: 490.0,
        emissivity: 0.7,
        limit: None,
        source: "grey iron, from memory, +-10 %; emissivity of an oxidised face 0.6 to 0.8, Siegel and Howell",
    },
    Material {
        name: "steel",
        conductivity: 14.9,
        density: 7_900.0,
        heat_capacity: 477.0,
        emissivity: 0.3,
        limit: None,
        source: "stainless sheet: Incropera et al., 7th ed., table A.1, AISI 304; emissivity 0.22 cleaned to 0.33 lightly oxidised, \
                 table A.11",
    },
];

/// The material of this name.
#[must_use]
pub fn find(name: &str) -> Option<&'static Material> {
    MATERIALS.iter().find(|material| material.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::heat::layers::Layers;

    #[test]
    fn names_are_unique_and_found() {
        for material in MATERIALS {
            assert_eq!(find(material.name), Some(material));
        }
        assert!(find("wood").is_none());
    }

    #[test]
    fn values_lie_in_their_ranges_and_name_a_source() {
        for material in MATERIALS {
            assert!(Layers::new(&[material.layer(1e-3)]).is_ok(), "{}", material.name);
            assert!(material.emissivity > 0.0 && material.emissivity <= 1.0, "{}", material.name);
            assert!(!material.source.is_empty(), "{}", material.name);
            // Heat stored by a volume of solid lies within a factor of three for all of them.
            assert!((1.2e6..4.2e6).contains(&(material.density * material.heat_capacity)), "{}", material.name);
            if let Some(limit) = material.limit {
                assert!((320.0..900.0).contains(&limit.temperature) && !limit.what.is_empty(), "{}", material.name);
            }
        }
    }

    #[test]
    fn bright_faces_emit_less_than_dull_ones() {
        let emissivity = |name: &str| find(name).unwrap().emissivity;
        assert!(emissivity("gold-faced foil") < emissivity("polished aluminium foil"));
        assert!(emissivity("polished aluminium foil") < emissivity("aluminium"));
        assert!(emissivity("aluminium") < emissivity("carbon composite"));
    }
}
