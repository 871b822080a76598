//! A person put together from rounded segments.
//!
//! Lengths of segments are shares of the standing height after Drillis and Contini (1966), as they
//! are printed in textbooks of biomechanics (from memory, not seen); thicknesses and clothing are our
//! own.

use glam::DVec3;

use super::parts::Parts;
use super::shape::{Outfit, Posture, Region};

/// Places of the joints in shares of the standing height; pairs are left and right of the person's
/// own picture, that is −x and +x when standing.
struct Joints {
    head: DVec3,
    crown: DVec3,
    face: DVec3,
    chest: DVec3,
    pelvis: DVec3,
    front: DVec3,
    shoulders: [DVec3; 2],
    elbows: [DVec3; 2],
    wrists: [DVec3; 2],
    hips: [DVec3; 2],
    knees: [DVec3; 2],
    ankles: [DVec3; 2],
    toes: [DVec3; 2],
}

const fn at(x: f64, y: f64, z: f64) -> DVec3 {
    DVec3::new(x, y, z)
}

const STANDING: Joints = Joints {
    head: at(0.0, -0.008, 0.934),
    crown: DVec3::Z,
    face: DVec3::NEG_Y,
    chest: at(0.0, 0.0, 0.8),
    pelvis: at(0.0, 0.0, 0.52),
    front: DVec3::NEG_Y,
    shoulders: [at(-0.115, 0.005, 0.795), at(0.115, 0.005, 0.795)],
    elbows: [at(-0.165, 0.015, 0.625), at(0.165, 0.015, 0.625)],
    wrists: [at(-0.188, -0.03, 0.488), at(0.188, -0.03, 0.488)],
    hips: [at(-0.05, 0.0, 0.52), at(0.05, 0.0, 0.52)],
    knees: [at(-0.066, -0.008, 0.285), at(0.066, -0.008, 0.285)],
    ankles: [at(-0.074, 0.012, 0.045), at(0.074, 0.012, 0.045)],
    toes: [at(-0.088, -0.085, 0.02), at(0.088, -0.085, 0.02)],
};

const KNEELING: Joints = Joints {
    head: at(0.0, -0.05, 0.7),
    crown: at(0.0, -0.1, 1.0),
    face: at(0.0, -1.0, -0.1),
    chest: at(0.0, -0.025, 0.568),
    pelvis: at(0.0, 0.0, 0.29),
    front: DVec3::NEG_Y,
    shoulders: [at(-0.115, -0.02, 0.563), at(0.115, -0.02, 0.563)],
    elbows: [at(-0.16, 0.0, 0.395), at(0.175, -0.1, 0.42)],
    wrists: [at(-0.172, -0.06, 0.265), at(0.115, -0.215, 0.36)],
    hips: [at(-0.05, 0.0, 0.29), at(0.05, 0.0, 0.29)],
    knees: [at(-0.075, -0.03, 0.046), at(0.09, -0.235, 0.285)],
    ankles: [at(-0.08, 0.205, 0.045), at(0.1, -0.225, 0.045)],
    toes: [at(-0.08, 0.285, 0.025), at(0.11, -0.325, 0.02)],
};

const CRAWLING: Joints = Joints {
    head: at(-0.235, 0.0, 0.385),
    crown: at(-0.45, 0.0, 0.9),
    face: at(-0.9, 0.0, -0.45),
    chest: at(-0.13, 0.0, 0.335),
    pelvis: at(0.145, 0.0, 0.29),
    front: DVec3::NEG_Z,
    shoulders: [at(-0.13, -0.11, 0.325), at(-0.13, 0.11, 0.325)],
    elbows: [at(-0.185, -0.135, 0.17), at(-0.09, 0.135, 0.165)],
    wrists: [at(-0.215, -0.125, 0.035), at(-0.075, 0.13, 0.035)],
    hips: [at(0.145, -0.05, 0.285), at(0.145, 0.05, 0.285)],
    knees: [at(0.09, -0.07, 0.046), at(0.185, 0.07, 0.046)],
    ankles: [at(0.335, -0.075, 0.045), at(0.425, 0.075, 0.045)],
    toes: [at(0.405, -0.075, 0.022), at(0.495, 0.075, 0.022)],
};

const LYING: Joints = Joints {
    head: at(-0.425, 0.01, 0.066),
    crown: at(-1.0, 0.1, 0.1),
    face: at(0.1, -0.2, 1.0),
    chest: at(-0.28, 0.0, 0.072),
    pelvis: at(0.0, 0.0, 0.068),
    front: DVec3::Z,
    shoulders: [at(-0.275, -0.115, 0.062), at(-0.275, 0.115, 0.062)],
    elbows: [at(-0.225, -0.275, 0.034), at(-0.12, 0.19, 0.036)],
    wrists: [at(-0.3, -0.395, 0.024), at(0.02, 0.165, 0.032)],
    hips: [at(0.0, -0.05, 0.066), at(0.0, 0.05, 0.066)],
    knees: [at(0.24, -0.085, 0.052), at(0.175, 0.07, 0.235)],
    ankles: [at(0.475, -0.12, 0.032), at(0.335, 0.08, 0.048)],
    toes: [at(0.51, -0.17, 0.095), at(0.43, 0.085, 0.024)],
};

pub(super) fn build(parts: &mut Parts, height_m: f64, posture: Posture, outfit: Outfit) {
    let joints = match posture {
        Posture::Standing => &STANDING,
        Posture::Kneeling => &KNEELING,
        Posture::Crawling => &CRAWLING,
        Posture::Lying => &LYING,
    };
    let from = parts.0.len();
    flesh(parts, joints, outfit);
    for part in &mut parts.0[from..] {
        part.to_body.matrix3 *= height_m;
        part.to_body.translation *= height_m;
    }
}

fn flesh(parts: &mut Parts, j: &Joints, outfit: Outfit) {
    let bulk = match outfit {
        Outfit::Everyday => 1.0,
        Outfit::Turnout => 1.22,
    };
    let thick = |a: f64, b: f64| (a * bulk, b * bulk);
    let main = Region::Main;
    let up = (j.chest - j.pelvis).normalize_or(DVec3::Z);
    let flat = |share: f64| (j.front, share);

    parts.flat_limb(
        j.pelvis + up * 0.07,
        j.chest - up * 0.055,
        thick(0.079, 0.102),
        flat(0.66),
        main,
    );
    parts.flat_limb(
        j.pelvis - up * 0.005,
        j.pelvis + up * 0.05,
        thick(0.09, 0.08),
        flat(0.72),
        if outfit == Outfit::Turnout {
            main
        } else {
            Region::Legs
        },
    );
    let neck = j.head - j.crown.normalize_or(DVec3::Z) * 0.03;
    for side in 0..2 {
        let shoulder = j.shoulders[side];
        let inner = j.chest + (shoulder - j.chest) * 0.25 + up * 0.018;
        parts.limb(inner, shoulder, thick(0.04, 0.037), main);
        parts.limb(shoulder, j.elbows[side], thick(0.037, 0.027), main);
        parts.limb(j.elbows[side], j.wrists[side], thick(0.027, 0.019), main);
        let forearm = (j.wrists[side] - j.elbows[side]).normalize_or(DVec3::NEG_Z);
        let palm = j.wrists[side] + forearm * 0.022;
        let tip = bent_hand(palm, forearm);
        parts.limb(palm, tip, thick(0.021, 0.015), Region::Hands);

        parts.limb(
            j.hips[side],
            j.knees[side],
            thick(0.058, 0.036),
            Region::Legs,
        );
        parts.limb(
            j.knees[side],
            j.ankles[side],
            thick(0.036, 0.023),
            Region::Legs,
        );
        let calf = j.knees[side] + (j.ankles[side] - j.knees[side]) * 0.3;
        parts.limb(
            calf,
            j.knees[side] + (j.ankles[side] - j.knees[side]) * 0.55,
            thick(0.034, 0.029),
            Region::Legs,
        );
        parts.limb(
            j.ankles[side],
            j.toes[side],
            thick(0.026, 0.018),
            Region::Feet,
        );
    }
    parts.limb(j.chest + up * 0.01, neck, thick(0.034, 0.03), Region::Face);
    head(parts, j, outfit);
    if outfit == Outfit::Turnout {
        // The jacket hangs over the hips.
        parts.flat_limb(
            j.pelvis - up * 0.055,
            j.pelvis + up * 0.1,
            (0.112, 0.108),
            flat(0.72),
            main,
        );
        let back = -j.front.reject_from(up).normalize_or(DVec3::Y) * 0.115;
        parts.limb(
            j.pelvis + up * 0.1 + back,
            j.chest - up * 0.035 + back,
            (0.044, 0.044),
            Region::AirCylinder,
        );
    }
}

/// End of a hand: along the forearm, but on the floor it lies flat.
fn bent_hand(palm: DVec3, forearm: DVec3) -> DVec3 {
    if palm.z < 0.05 {
        let level = DVec3::new(forearm.x, forearm.y, 0.0).normalize_or(DVec3::NEG_X);
        DVec3::new(palm.x, palm.y, palm.z.max(0.02)) + level * 0.05
    } else {
        palm + forearm * 0.05
    }
}

fn head(parts: &mut Parts, j: &Joints, outfit: Outfit) {
    let crown = j.crown.normalize_or(DVec3::Z);
    let face = j.face.reject_from(crown).normalize_or(DVec3::NEG_Y);
    let mut egg = |centre: DVec3, across: f64, deep: f64, tall: f64, region| {
        parts.egg(centre, crown, face, DVec3::new(across, deep, tall), region);
    };
    egg(j.head, 0.0445, 0.055, 0.066, Region::Face);
    match outfit {
        Outfit::Everyday => egg(
            j.head + crown * 0.014 - face * 0.013,
            0.047,
            0.054,
            0.06,
            Region::Head,
        ),
        Outfit::Turnout => {
            egg(
                j.head + face * 0.02 - crown * 0.012,
                0.043,
                0.05,
                0.05,
                Region::Face,
            );
            egg(
                j.head + crown * 0.028 - face * 0.006,
                0.063,
                0.076,
                0.058,
                Region::Head,
            );
            egg(
                j.head + crown * 0.02 - face * 0.012,
                0.08,
                0.105,
                0.012,
                Region::Head,
            );
            egg(
                j.head - crown * 0.03 - face * 0.03,
                0.052,
                0.04,
                0.055,
                Region::Main,
            );
        }
    }
}
