//! What can be looked at: a scene gives, frame after frame, the apparent temperature of every pixel
//! and the marks whose visibility is followed.

use super::image::Image;

/// Something in a scene whose visibility is followed.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What it is, such as `person` or `ladder`.
    pub name: String,
    /// Pixels that lie wholly inside, row-major.
    pub mask: Vec<bool>,
    /// Pixels of the background in a ring around it, row-major.
    pub surround: Vec<bool>,
}

/// A scene at one frame.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// Apparent temperature of every pixel, kelvin.
    pub apparent: Image<f64>,
    /// The marks that are in view.
    pub marks: Vec<Mark>,
}

/// Something that can be looked at, frame after frame.
///
/// A scene implements [`Scene::view`]; what it can give cheaper it overrides.
pub trait Scene: Send + Sync {
    /// The scene at a frame.
    fn view(&self, frame: u32) -> View;

    /// Apparent temperature of every pixel at a frame, in kelvin.
    fn image(&self, frame: u32) -> Image<f64> {
        self.view(frame).apparent
    }

    /// Seconds from one frame to the next.
    fn frame_seconds(&self) -> f64 {
        1.0 / 30.0
    }

    /// Vertical field of view in degrees, where the scene is seen through a camera.
    fn view_degrees(&self) -> Option<f64> {
        None
    }

    /// What an imager cannot see here, one sentence each, such as the room behind a pane of glass.
    fn unseen(&self) -> Vec<String> {
        Vec::new()
    }
}
