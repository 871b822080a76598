//! Selector: which profile is shown, chosen with one button and a gloved hand.
//!
//! **Purpose.** Steps through a set of named profiles. **Input**: the button and the last frame
//! record, once a frame. **Output**: an [`Event`]. **Latency**: the frames of [`SelectorPlan`].
//! **Memory**: this struct. **Source**: our own.
//!
//! - Powers up in the first profile of the set.
//! - A press acts when the button is let go; one that is held for long goes back to the first profile,
//!   so that a hand that rests on it ends where the display started.
//! - Contact that is shorter than `press_frames` does nothing.
//! - With the lock, nothing changes while the scene is hot; a refused press says so.
//! - There is no state without a profile, and no profile without a name.

use crate::profile::Profile;
use crate::record::FrameRecord;

/// Why profiles are not a set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum SetError {
    /// No profile at all.
    Empty,
    /// Two profiles have the same name.
    SameName {
        /// Index of the second one.
        index: usize,
    },
}

impl core::fmt::Display for SetError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Empty => f.write_str("a profile set needs at least one profile"),
            Self::SameName { index } => {
                write!(
                    f,
                    "profile {index} has the name of an earlier one; names must differ"
                )
            }
        }
    }
}

impl core::error::Error for SetError {}

/// Profiles that one button steps through: at least one, each with a name of its own.
#[derive(Clone, Copy, Debug)]
pub struct ProfileSet<'p> {
    first: &'p Profile,
    rest: &'p [Profile],
}

impl<'p> ProfileSet<'p> {
    /// Checks a set.
    ///
    /// # Errors
    /// [`SetError`] for an empty set or a name that stands twice.
    pub fn new(profiles: &'p [Profile]) -> Result<Self, SetError> {
        let (first, rest) = profiles.split_first().ok_or(SetError::Empty)?;
        for (index, profile) in (0..profiles.len()).zip(profiles) {
            let name = &profile.spec().name;
            if profiles
                .iter()
                .take(index)
                .any(|other| other.spec().name == *name)
            {
                return Err(SetError::SameName { index });
            }
        }
        Ok(Self { first, rest })
    }

    /// Profiles in the set, at least 1.
    #[must_use]
    pub const fn count(&self) -> usize {
        self.rest.len().saturating_add(1)
    }

    /// The profile at an index; the first one for an index beyond the set.
    #[must_use]
    pub fn profile(&self, index: usize) -> &'p Profile {
        index
            .checked_sub(1)
            .and_then(|index| self.rest.get(index))
            .unwrap_or(self.first)
    }
}

/// How the button and the lock behave. Fixed for a session.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SelectorPlan {
    /// Frames of contact that make a press; 3 is a tenth of a second at 30 frames a second.
    pub press_frames: u8,
    /// Frames of contact that go back to the first profile.
    pub home_frames: u8,
    /// Coloured share (thousandths) from which the scene is hot; above 1000 there is no lock.
    pub hot_permille: u16,
    /// Coloured share below which it is not hot any more.
    pub cool_permille: u16,
}

impl SelectorPlan {
    /// A tenth of a second, two seconds, no lock.
    pub const DEFAULT: Self = Self {
        press_frames: 3,
        home_frames: 60,
        hot_permille: 1001,
        cool_permille: 0,
    };
}

/// What a frame of the button did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Event {
    /// Nothing.
    None,
    /// Another profile is chosen: build the pipeline with it.
    Changed,
    /// The press was refused, because the scene is hot.
    Refused,
}

/// The chosen profile and the way to the next one.
///
/// ```
/// use glowsill_core::profile::{Profile, ProfileSpec};
/// use glowsill_core::selector::{Event, ProfileSet, Selector, SelectorPlan};
/// let mut spec = ProfileSpec::grey_example();
/// let first = Profile::new(spec.clone()).unwrap();
/// spec.name.clear();
/// spec.name.push_str("Second").unwrap();
/// let profiles = [first, Profile::new(spec).unwrap()];
/// let set = ProfileSet::new(&profiles).unwrap();
/// let mut selector = Selector::new(set, SelectorPlan::DEFAULT);
/// assert_eq!(selector.profile().spec().name, "Grey example");
/// for _ in 0..3 {
///     assert_eq!(selector.step(true, None), Event::None);
/// }
/// assert_eq!(selector.step(false, None), Event::Changed);
/// assert_eq!(selector.profile().spec().name, "Second");
/// ```
#[derive(Clone, Debug)]
pub struct Selector<'p> {
    set: ProfileSet<'p>,
    plan: SelectorPlan,
    chosen: usize,
    /// Frames the button has been down, up to `home_frames`.
    held: u8,
    is_hot: bool,
}

impl<'p> Selector<'p> {
    /// Starts with the first profile.
    #[must_use]
    pub const fn new(set: ProfileSet<'p>, plan: SelectorPlan) -> Self {
        Self {
            set,
            plan,
            chosen: 0,
            held: 0,
            is_hot: false,
        }
    }

    /// The chosen profile.
    #[must_use]
    pub fn profile(&self) -> &'p Profile {
        self.set.profile(self.chosen)
    }

    /// Its index in the set.
    #[must_use]
    pub const fn index(&self) -> usize {
        self.chosen
    }

    /// Whether the lock holds.
    #[must_use]
    pub const fn is_locked(&self) -> bool {
        self.is_hot
    }

    /// Takes one frame of the button, and the record of the last frame for the lock.
    pub fn step(&mut self, is_down: bool, record: Option<&FrameRecord>) -> Event {
        if let Some(record) = record {
            let coloured = record.coloured_permille();
            let limit = if self.is_hot {
                self.plan.cool_permille
            } else {
                self.plan.hot_permille
            };
            self.is_hot = coloured >= limit.max(1);
        }
        let home = self
            .plan
            .home_frames
            .max(self.plan.press_frames.max(1).saturating_add(1));
        if is_down {
            let before = self.held;
            self.held = before.saturating_add(1).min(home);
            return if self.held == home && before < home {
                self.choose(0)
            } else {
                Event::None
            };
        }
        let held = core::mem::replace(&mut self.held, 0);
        if held >= self.plan.press_frames.max(1) && held < home {
            let next = self.chosen.saturating_add(1);
            self.choose(if next < self.set.count() { next } else { 0 })
        } else {
            Event::None
        }
    }

    fn choose(&mut self, index: usize) -> Event {
        if index == self.chosen {
            Event::None
        } else if self.is_hot {
            Event::Refused
        } else {
            self.chosen = index;
            Event::Changed
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::ProfileSpec;
    use std::collections::BTreeSet;
    use std::vec::Vec;

    fn profiles(count: usize) -> Vec<Profile> {
        (0..count)
            .map(|i| {
                let mut spec = ProfileSpec::grey_example();
                spec.name.clear();
                spec.name.push_str(["one", "two", "three"][i]).unwrap();
                Profile::new(spec).unwrap()
            })
            .collect()
    }

    const PLAN: SelectorPlan = SelectorPlan {
        press_frames: 2,
        home_frames: 5,
        hot_permille: 100,
        cool_permille: 50,
    };

    #[test]
    fn every_reachable_state_has_a_name_and_every_profile_is_reachable() {
        for count in 1..=3 {
            let profiles = profiles(count);
            let set = ProfileSet::new(&profiles).unwrap();
            let start = Selector::new(set, PLAN);
            let mut seen = BTreeSet::new();
            let mut open = Vec::from([start]);
            while let Some(state) = open.pop() {
                assert!(!state.profile().spec().name.is_empty());
                assert!(state.chosen < count && state.held <= 5);
                if seen.insert((state.chosen, state.held, state.is_hot)) {
                    for is_down in [false, true] {
                        for coloured in [None, Some(0), Some(60), Some(200)] {
                            let mut next = state.clone();
                            let record = coloured.map(hot);
                            let was_hot_enough = coloured.is_some_and(|c| c >= 100)
                                || (state.is_hot && coloured.is_none_or(|c| c >= 50));
                            let event = next.step(is_down, record.as_ref());
                            assert_eq!(next.is_hot, was_hot_enough);
                            assert_eq!(event == Event::Changed, next.chosen != state.chosen);
                            assert!(!(next.is_hot && event == Event::Changed));
                            open.push(next);
                        }
                    }
                }
            }
            let chosen: BTreeSet<_> = seen.iter().map(|state| state.0).collect();
            assert_eq!(chosen.len(), count);
        }
    }

    fn hot(permille: u32) -> FrameRecord {
        use crate::health::Health;
        use crate::record::GainInUse;
        use crate::units::Temperature;
        FrameRecord {
            frame: 0,
            gain: GainInUse::High,
            scale_low: Temperature::INVALID,
            scale_high: Temperature::INVALID,
            pixels: 1000,
            valid: 1000,
            from_low: 0,
            coloured: permille,
            in_band: [0; 7],
            hottest: None,
            coldest: None,
            saturated: 0,
            invalid: 0,
            disputed: 0,
            replaced: 0,
            is_struck: false,
            health: Health::GOOD,
        }
    }

    fn press(selector: &mut Selector<'_>, frames: usize) -> Vec<Event> {
        let mut events: Vec<_> = (0..frames).map(|_| selector.step(true, None)).collect();
        events.push(selector.step(false, None));
        events.retain(|event| *event != Event::None);
        events
    }

    #[test]
    fn presses_step_and_wrap_and_a_long_one_goes_home() {
        let profiles = profiles(3);
        let mut selector = Selector::new(ProfileSet::new(&profiles).unwrap(), PLAN);
        assert_eq!(press(&mut selector, 1), []);
        for index in [1, 2, 0, 1] {
            assert_eq!(press(&mut selector, 3), [Event::Changed]);
            assert_eq!(selector.index(), index);
        }
        assert_eq!(press(&mut selector, 50), [Event::Changed]);
        assert_eq!(selector.index(), 0);
        assert_eq!(press(&mut selector, 50), []);
    }

    #[test]
    fn the_lock_refuses_while_hot_and_lets_go_when_cool() {
        let profiles = profiles(2);
        let mut selector = Selector::new(ProfileSet::new(&profiles).unwrap(), PLAN);
        selector.step(false, Some(&hot(150)));
        assert!(selector.is_locked());
        assert_eq!(press(&mut selector, 3), [Event::Refused]);
        selector.step(false, Some(&hot(60)));
        assert!(selector.is_locked());
        selector.step(false, Some(&hot(40)));
        assert_eq!(press(&mut selector, 3), [Event::Changed]);
    }

    #[test]
    fn sets_without_profiles_or_with_a_name_twice_are_refused() {
        assert_eq!(ProfileSet::new(&[]).err(), Some(SetError::Empty));
        let mut two = profiles(2);
        two[1] = two[0].clone();
        assert_eq!(
            ProfileSet::new(&two).err(),
            Some(SetError::SameName { index: 1 })
        );
    }
}
