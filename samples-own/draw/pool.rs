//! Where everything lies in the rock pool.

use crate::creatures::{Anemone, anemone, blenny, starfish, urchin};
use crate::scene::Scene;
use crate::shells::{Coil, limpet, mussel, periwinkle, scallop};
use crate::{crab, ground, weed};

/// The whole pool, `finer` points to a pixel.
pub(crate) fn pool(finer: usize) -> Scene {
    let mut scene = Scene::new(finer);
    ground::lay(&mut scene);
    ground::strew(&mut scene);
    for ([x, y], size, turn, lift) in [
        ([1345.0, 150.0], 84.0, 0.6, 2.0),
        ([1405.0, 92.0], 92.0, 0.25, 6.0),
        ([1462.0, 160.0], 98.0, 0.9, 10.0),
        ([1392.0, 218.0], 78.0, 1.35, 4.0),
        ([1515.0, 84.0], 82.0, 0.5, 4.0),
        ([1530.0, 226.0], 74.0, 1.5, 6.0),
    ] {
        mussel(&mut scene, [x, y], size, turn, lift);
    }
    limpet(&mut scene, [165.0, 170.0], 78.0, 0.4, 3);
    limpet(&mut scene, [318.0, 92.0], 56.0, 2.1, 8);
    limpet(&mut scene, [96.0, 330.0], 50.0, 4.0, 15);
    starfish(&mut scene, [455.0, 445.0], 196.0, 0.3, [0xe8_6a_1a, 0xb8_40_10, 0xff_c0_70]);
    starfish(&mut scene, [1225.0, 845.0], 150.0, 1.0, [0x8a_4a_a8, 0x4e_22_72, 0xe4_b4_e8]);
    let red = Anemone {
        colours: [0x9a_12_1c, 0xb8_1a_22, 0xf0_5a_4a],
        tentacles: 66,
        length: 0.5,
        wave: 0.5,
        beads: Some(0x3a_86_e0),
    };
    anemone(&mut scene, [1105.0, 425.0], 118.0, &red, 41);
    let green = Anemone {
        colours: [0x6a_7a_3a, 0x6f_b0_3a, 0xc0_48_b0],
        tentacles: 84,
        length: 0.95,
        wave: 1.3,
        beads: None,
    };
    anemone(&mut scene, [275.0, 850.0], 122.0, &green, 57);
    urchin(&mut scene, [640.0, 205.0], 98.0);
    weed::grow(&mut scene);
    periwinkle(
        &mut scene,
        [585.0, 985.0],
        74.0,
        0.9,
        &Coil { ground: 0x6e_5a_4c, band: 0xd8_b8_8c, bands: 2.0 },
    );
    periwinkle(
        &mut scene,
        [1010.0, 1010.0],
        34.0,
        2.6,
        &Coil { ground: 0xf0_c0_30, band: 0xd8_94_1c, bands: 1.0 },
    );
    periwinkle(
        &mut scene,
        [700.0, 690.0],
        30.0,
        4.0,
        &Coil { ground: 0xe8_8a_3a, band: 0xf6_dc_a0, bands: 1.0 },
    );
    scallop(&mut scene, [1190.0, 1070.0], 84.0, -0.35);
    crab::crab(&mut scene, [820.0, 880.0], 92.0, 0.22);
    blenny(&mut scene, [810.0, 545.0], 176.0, -0.42, 26.0);
    scene
}
