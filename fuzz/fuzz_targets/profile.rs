//! Packed profiles: any bytes give a profile or an error, never a panic; a profile survives packing; and
//! both forms of the pipeline draw the same with it.
#![no_main]

use crc::{CRC_32_ISO_HDLC, Crc};
use glowsill_core::calibration::Calibration;
use glowsill_core::packed::MAX_LEN;
use glowsill_core::panel::PanelRgb888;
use glowsill_core::pipeline::{Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::Profile;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    check(data);
    // The check sum would keep nearly everything out: the same bytes again as a body.
    if let Ok(length) = u16::try_from(data.len()) {
        let mut packed = b"gsil\x01".to_vec();
        packed.extend(length.to_le_bytes());
        packed.extend(data);
        let sum = Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(&packed);
        packed.extend(sum.to_le_bytes());
        check(&packed);
    }
});

fn check(bytes: &[u8]) {
    let identity = Calibration::identity();
    let sensor = SensorConfig {
        high: Some(&identity),
        low: Some(&identity),
        ..SensorConfig::default()
    };
    let (profile, error) = Profile::from_bytes_or_safe(bytes, &sensor);
    if let Some(error) = error {
        assert!(!error.to_string().is_empty());
        return;
    }
    let mut buffer = [0; MAX_LEN];
    let length = profile.to_bytes(&mut buffer).expect("every profile fits");
    assert_eq!(Profile::from_bytes(&buffer[..length]), Ok(profile.clone()));

    let geometry = Geometry::new(40, 8).expect("within the limits");
    let n = geometry.pixels();
    let mut memory = [vec![0; n], vec![0; n]];
    let mut scratch = [vec![0; 6 * 40], vec![0; 6 * 40]];
    let ([ma, mb], [ra, rb]) = (&mut memory, &mut scratch);
    let mut quick = Pipeline::new(geometry, &profile, sensor, ma, ra).expect("fits");
    let mut plain = Pipeline::new(geometry, &profile, sensor, mb, rb).expect("fits");
    for frame in 0..4u16 {
        let counts: Vec<u16> = (0..n as u32)
            .map(|i| {
                (i * (7 + 90 * u32::from(frame)) + 9000 * u32::from(frame % 2)).min(65_535) as u16
            })
            .collect();
        let low: Vec<u16> = counts.iter().map(|count| count ^ 3).collect();
        let (mut a, mut b) = (vec![Default::default(); n], vec![Default::default(); n]);
        let ra = quick.frame::<PanelRgb888>(Some(&counts), Some(&low), &mut a);
        let rb = plain.frame_plain::<PanelRgb888>(Some(&counts), Some(&low), &mut b, None);
        assert_eq!((ra, a), (rb, b));
    }
}
