//! What an imager cannot see of a scenario, in sentences.

use super::check::extent;
use super::spec::{Filling, Spec};
use crate::world::scene::camera::Camera;

/// One sentence for each thing that is hidden, mirrored or too small from where the imager starts.
pub(super) fn unseen(spec: &Spec, camera: &Camera) -> Vec<String> {
    let mut told = spec.unseen.clone();
    for one in &spec.openings {
        match one.filling {
            Filling::Open => {}
            Filling::Closed(_) => told.push(format!(
                "What lies behind '{}': an imager sees the surface of the closed leaf, which \
                 follows the other side late or not at all.",
                one.name
            )),
            Filling::Glass(_) => told.push(format!(
                "What lies behind '{}': glass is opaque in the band; it shows its own \
                 temperature and mirrors what stands before it.",
                one.name
            )),
        }
    }
    told.push(
        "What lies behind or inside walls, ceilings and floors: only their near surface is \
         seen, and it changes late."
            .to_owned(),
    );
    if !spec.sprays.is_empty() {
        told.push(
            "What a film of water covers: the imager reads the water, not what is under it."
                .to_owned(),
        );
    }
    for one in &spec.objects {
        let distance = (one.position - camera.position).length();
        let spot = camera.spot_m(distance);
        let (low, high) = extent(&one.shape);
        let least = (high - low).truncate().min_element().min((high - low).z);
        if one.mirror > 0.2 && one.emissivity < 0.6 {
            told.push(format!(
                "The true temperature of '{}': it emits {:.0} % and mirrors its surroundings.",
                one.name,
                100.0 * one.emissivity
            ));
        }
        if let Some(ember) = &one.ember {
            told.push(format!(
                "How hot the embers in '{}' are: {:.0} mm lie over them, and only the warmth that \
                 gets through is seen.",
                one.name,
                1000.0 * ember.cover.thickness_m()
            ));
        }
        if least < 3.0 * spot {
            told.push(format!(
                "Detail of '{}' below {:.0} mm: one pixel covers a spot of that side at its \
                 distance of {distance:.1} m (distance to spot {:.0}:1), and mixes what is in it.",
                one.name,
                1000.0 * spot,
                camera.distance_to_spot()
            ));
        }
    }
    told
}
