//! Laws of heat beside the stream: radiation in enclosures, view factors, films on outer surfaces, conduction through layers.

mod films;
mod layers;
mod radiation;
mod views;

use crate::check::{Check, Group};

const INCROPERA: &str = "Incropera et al., Fundamentals of Heat and Mass Transfer, 7th ed. (2011)";

/// Checks of the laws of heat.
pub const GROUP: Group = Group {
    name: "heat_laws",
    about: "radiation, view factors, films in still and moving air, conduction through layers",
    checks: &[
        Check {
            name: "plates_and_shields",
            about: "heat between two grey plates and the temperature of shields between them",
            source: "Incropera et al., 7th ed. (2011), eq. 13.24 and 13.28",
            run: radiation::plates,
        },
        Check {
            name: "grey_enclosures",
            about: "exchange areas of enclosures of two, three and six surfaces",
            source: "Incropera et al., 7th ed. (2011), eq. 13.23 and 13.30; light followed through its reflections",
            run: radiation::enclosures,
        },
        Check {
            name: "view_factors",
            about: "view factors of rectangles and discs",
            source: "the defining integral by Gauss's rule; Howell, Catalogue of Radiation Configuration Factors, C-11, C-14, C-41",
            run: views::shapes,
        },
        Check {
            name: "natural_films",
            about: "films of plates and cylinders in still air",
            source: "Churchill and Chu (1975); McAdams (1954); properties of air by Lemmon and Jacobsen (2004)",
            run: films::still,
        },
        Check {
            name: "forced_films",
            about: "films of plates and cylinders in a stream",
            source: "Incropera et al., 7th ed. (2011), eq. 7.30 and 7.38; Churchill and Bernstein (1977)",
            run: films::streaming,
        },
        Check {
            name: "layered_wall",
            about: "steady heat through a wall of three layers between two films",
            source: INCROPERA,
            run: layers::steady,
        },
        Check {
            name: "cooling_slab",
            about: "a slab that cools through one face, cut into more and more layers",
            source: "Incropera et al., 7th ed. (2011), section 5.5.1, the series in full",
            run: layers::cooling,
        },
    ],
};
