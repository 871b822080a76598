//! Compact binary form of a profile for flash storage.
//!
//! | bytes | content |
//! | --- | --- |
//! | 4 | mark `gsil` |
//! | 1 | version, 1 |
//! | 2 | length of the body, little-endian |
//! | n | body: [`ProfileSpec`] in postcard's wire format |
//! | 4 | CRC-32 (polynomial 04C11DB7, reflected, as in IEEE 802.3) of all bytes before, little-endian |

use core::fmt;

use crc::{CRC_32_ISO_HDLC, Crc};

use crate::profile::{Profile, ProfileError, ProfileSpec};

const MARK: [u8; 4] = *b"gsil";
const HEADER: usize = 7;
const CRC_BYTES: usize = 4;
const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// Version this build writes and reads.
pub const VERSION: u8 = 1;
/// A buffer of this length holds every profile.
pub const MAX_LEN: usize = 512;

/// Why bytes are not a profile, or a profile does not fit the bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum PackedError {
    /// Fewer bytes than the header, or than the header announces.
    Truncated {
        /// Bytes given.
        found: usize,
        /// Bytes needed.
        needed: usize,
    },
    /// The first four bytes are not the mark.
    NotAProfile,
    /// Written by another version.
    Version {
        /// Version in the bytes; this build reads [`VERSION`].
        found: u8,
    },
    /// The check sum does not match: the bytes were damaged.
    Damaged {
        /// Check sum in the bytes.
        stored: u32,
        /// Check sum of the bytes.
        computed: u32,
    },
    /// The body is not a profile although its check sum matches.
    Body,
    /// A field is out of its limits.
    Field(ProfileError),
    /// The buffer given is too small.
    BufferTooSmall {
        /// Bytes of the buffer.
        len: usize,
    },
}

impl fmt::Display for PackedError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Truncated { found, needed } => {
                write!(f, "packed profile is cut off: {found} bytes of {needed}")
            }
            Self::NotAProfile => f.write_str("not a packed profile: it does not start with 'gsil'"),
            Self::Version { found } => {
                write!(
                    f,
                    "packed profile has version {found}; this build reads {VERSION}"
                )
            }
            Self::Damaged { stored, computed } => write!(
                f,
                "packed profile is damaged: check sum {stored:08x} is stored, {computed:08x} computed"
            ),
            Self::Body => f.write_str("packed profile has a body that is no profile"),
            Self::Field(error) => error.fmt(f),
            Self::BufferTooSmall { len } => {
                write!(
                    f,
                    "a buffer of {len} bytes is too small; {MAX_LEN} hold every profile"
                )
            }
        }
    }
}

impl core::error::Error for PackedError {}

impl From<ProfileError> for PackedError {
    fn from(error: ProfileError) -> Self {
        Self::Field(error)
    }
}

impl Profile {
    /// Writes the binary form and gives its length.
    ///
    /// # Errors
    /// [`PackedError::BufferTooSmall`]; [`MAX_LEN`] bytes are always enough.
    ///
    /// ```
    /// use glowsill_core::{packed, profile::{Profile, ProfileSpec}};
    /// let profile = Profile::new(ProfileSpec::grey_example()).unwrap();
    /// let mut flash = [0; packed::MAX_LEN];
    /// let len = profile.to_bytes(&mut flash).unwrap();
    /// assert_eq!(&flash[..5], b"gsil\x01");
    /// assert_eq!(Profile::from_bytes(&flash[..len]).unwrap(), profile);
    /// ```
    pub fn to_bytes(&self, buffer: &mut [u8]) -> Result<usize, PackedError> {
        let too_small = PackedError::BufferTooSmall { len: buffer.len() };
        let (header, rest) = buffer.split_at_mut_checked(HEADER).ok_or(too_small)?;
        let body = postcard::to_slice(self.spec(), rest)
            .map_err(|_| too_small)?
            .len();
        let [low, high] = crate::fixedpoint::index_u16(body).to_le_bytes();
        header.copy_from_slice(&[MARK[0], MARK[1], MARK[2], MARK[3], VERSION, low, high]);
        let end = HEADER.saturating_add(body);
        let crc = CRC.checksum(buffer.get(..end).ok_or(too_small)?);
        buffer
            .get_mut(end..)
            .and_then(|rest| rest.get_mut(..CRC_BYTES))
            .ok_or(too_small)?
            .copy_from_slice(&crc.to_le_bytes());
        Ok(end.saturating_add(CRC_BYTES))
    }

    /// Reads and validates the binary form; bytes behind it are ignored.
    ///
    /// # Errors
    /// [`PackedError`] says whether it is cut off, foreign, of another version, damaged or invalid.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, PackedError> {
        let truncated = |needed| PackedError::Truncated {
            found: bytes.len(),
            needed,
        };
        let (header, rest) = bytes.split_at_checked(HEADER).ok_or(truncated(HEADER))?;
        let &[a, b, c, d, version, low, high] = header else {
            return Err(truncated(HEADER));
        };
        if [a, b, c, d] != MARK {
            return Err(PackedError::NotAProfile);
        }
        if version != VERSION {
            return Err(PackedError::Version { found: version });
        }
        let len = usize::from(u16::from_le_bytes([low, high]));
        let needed = HEADER + len + CRC_BYTES;
        let body = rest.get(..len).ok_or(truncated(needed))?;
        let stored = rest
            .get(len..)
            .and_then(<[u8]>::first_chunk)
            .ok_or(truncated(needed))?;
        let stored = u32::from_le_bytes(*stored);
        let computed = CRC.checksum(bytes.get(..HEADER + len).ok_or(truncated(needed))?);
        if stored != computed {
            return Err(PackedError::Damaged { stored, computed });
        }
        let spec: ProfileSpec = postcard::from_bytes(body).map_err(|_| PackedError::Body)?;
        Ok(Self::new(spec)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn packed() -> ([u8; MAX_LEN], usize) {
        let mut bytes = [0; MAX_LEN];
        let len = Profile::new(ProfileSpec::grey_example())
            .unwrap()
            .to_bytes(&mut bytes)
            .unwrap();
        (bytes, len)
    }

    // Source: check value of CRC-32/ISO-HDLC for "123456789", as in the IEEE 802.3 literature.
    #[test]
    fn the_check_sum_is_the_published_one() {
        assert_eq!(CRC.checksum(b"123456789"), 0xCBF4_3926);
    }

    #[test]
    fn every_flipped_bit_is_found() {
        let (bytes, len) = packed();
        for bit in 0..len * 8 {
            let mut damaged = bytes;
            damaged[bit / 8] ^= 1 << (bit % 8);
            assert!(Profile::from_bytes(&damaged[..len]).is_err(), "bit {bit}");
        }
    }

    #[test]
    fn every_cut_is_found() {
        let (bytes, len) = packed();
        for end in 0..len {
            assert!(matches!(
                Profile::from_bytes(&bytes[..end]),
                Err(PackedError::Truncated { .. })
            ));
        }
        for small in 0..len {
            let mut buffer = [0; MAX_LEN];
            let profile = Profile::from_bytes(&bytes[..len]).unwrap();
            assert_eq!(
                profile.to_bytes(&mut buffer[..small]),
                Err(PackedError::BufferTooSmall { len: small })
            );
        }
    }

    #[test]
    fn another_version_is_named() {
        let (mut bytes, len) = packed();
        bytes[4] = 2;
        assert_eq!(
            Profile::from_bytes(&bytes[..len]),
            Err(PackedError::Version { found: 2 })
        );
    }
}
