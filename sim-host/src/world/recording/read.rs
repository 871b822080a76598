//! Frames from 16-bit PNG, TIFF (16-bit or float) and NPY (u2 or f4).

use std::io::Cursor;
use std::path::Path;

use image::{DynamicImage, ImageFormat, ImageReader};
use tiff::ColorType;
use tiff::decoder::{Decoder, DecodingResult, Limits};

use super::RecordingError;

/// Largest file that is read, in bytes: a float frame of 1280 x 1024 and room for tags.
const LARGEST_FILE: u64 = 16 << 20;

/// The numbers of a frame, row-major.
pub(super) enum Samples {
    /// Whole numbers.
    U16(Vec<u16>),
    /// Floats.
    F32(Vec<f32>),
}

/// Reads a frame that must be `width` by `height`; the ending of the name tells the format.
pub(super) fn samples(file: &Path, width: usize, height: usize) -> Result<Samples, RecordingError> {
    let read = |source| RecordingError::Read {
        file: file.to_owned(),
        source,
    };
    let bytes = std::fs::metadata(file).map_err(read)?.len();
    let format = |why: String| RecordingError::Format {
        file: file.to_owned(),
        why,
    };
    if bytes > LARGEST_FILE {
        return Err(format(format!(
            "{bytes} bytes; a frame has at most {LARGEST_FILE}"
        )));
    }
    let data = std::fs::read(file).map_err(read)?;
    let ending = file
        .extension()
        .and_then(|e| e.to_str())
        .unwrap_or("")
        .to_ascii_lowercase();
    let frame = Frame {
        file,
        width,
        height,
    };
    let samples = match ending.as_str() {
        "png" => frame.png(&data),
        "tif" | "tiff" => frame.tiff(&data),
        "npy" => frame.npy(&data),
        _ => Err(frame.wrong("a frame must end in .png, .tif, .tiff or .npy")),
    }?;
    let got = match &samples {
        Samples::U16(values) => values.len(),
        Samples::F32(values) => values.len(),
    };
    if got == width * height {
        Ok(samples)
    } else {
        Err(format(format!(
            "holds {got} values, not {}: the file is cut short",
            width * height
        )))
    }
}

struct Frame<'a> {
    file: &'a Path,
    width: usize,
    height: usize,
}

impl Frame<'_> {
    fn wrong(&self, why: impl ToString) -> RecordingError {
        RecordingError::Format {
            file: self.file.to_owned(),
            why: why.to_string(),
        }
    }

    /// A file of the right kind that cannot be read to its end.
    fn damaged(&self, kind: &str, data: &[u8], cause: impl std::fmt::Display) -> RecordingError {
        self.wrong(format!(
            "cut short or damaged ({cause}): expected a whole {kind}, {} x {} pixels, found {} bytes that do not hold \
             one; copy or export the file again",
            self.width,
            self.height,
            data.len()
        ))
    }

    /// Whether the numbers that follow the header of an NPY file are all there.
    fn check_length(&self, data: &[u8], bytes_each: usize) -> Result<(), RecordingError> {
        // The header's own length stands in two bytes in version 1, in four later.
        let header = match *data {
            [_, _, _, _, _, _, 1, _, a, b, ..] => 10 + usize::from(u16::from_le_bytes([a, b])),
            [_, _, _, _, _, _, _, _, a, b, c, d, ..] => {
                let length = usize::try_from(u32::from_le_bytes([a, b, c, d]));
                length.unwrap_or(usize::MAX).saturating_add(12)
            }
            _ => data.len(),
        };
        let found = data.len().saturating_sub(header);
        let expected = self.width * self.height * bytes_each;
        if found >= expected {
            return Ok(());
        }
        Err(self.wrong(format!(
            "cut short: expected {expected} bytes of numbers ({} x {} of {bytes_each} bytes), found {found}; copy or \
             export the file again",
            self.width, self.height
        )))
    }

    fn check_size(&self, width: u64, height: u64) -> Result<(), RecordingError> {
        if usize::try_from(width) == Ok(self.width) && usize::try_from(height) == Ok(self.height) {
            Ok(())
        } else {
            let want = (self.width, self.height);
            Err(RecordingError::Size {
                file: self.file.to_owned(),
                got: (width, height),
                want,
            })
        }
    }

    fn png(&self, data: &[u8]) -> Result<Samples, RecordingError> {
        let reader = || ImageReader::with_format(Cursor::new(data), ImageFormat::Png);
        let damaged = |cause: image::ImageError| self.damaged("grey PNG of 16 bits", data, cause);
        let (width, height) = reader().into_dimensions().map_err(damaged)?;
        self.check_size(u64::from(width), u64::from(height))?;
        match reader().decode().map_err(damaged)? {
            DynamicImage::ImageLuma16(image) => Ok(Samples::U16(image.into_raw())),
            other => Err(self.wrong(format!(
                "pixels are {:?}; write a grey PNG of 16 bits",
                other.color()
            ))),
        }
    }

    fn tiff(&self, data: &[u8]) -> Result<Samples, RecordingError> {
        let mut limits = Limits::default();
        limits.decoding_buffer_size = 8 << 20;
        limits.intermediate_buffer_size = 8 << 20;
        let damaged = |cause| self.damaged("grey TIFF of 16 bits or float", data, cause);
        let decoder = Decoder::new(Cursor::new(data)).map_err(damaged)?;
        let mut decoder = decoder.with_limits(limits);
        let (width, height) = decoder.dimensions().map_err(damaged)?;
        self.check_size(u64::from(width), u64::from(height))?;
        let colour = decoder.colortype().map_err(damaged)?;
        if !matches!(colour, ColorType::Gray(16 | 32)) {
            return Err(self.wrong(format!(
                "pixels are {colour:?}; write grey of 16 bits or float"
            )));
        }
        match decoder.read_image().map_err(damaged)? {
            DecodingResult::U16(values) => Ok(Samples::U16(values)),
            DecodingResult::F32(values) => Ok(Samples::F32(values)),
            _ => Err(self.wrong("samples are neither unsigned 16-bit nor 32-bit float")),
        }
    }

    fn npy(&self, data: &[u8]) -> Result<Samples, RecordingError> {
        // From version 2 on the header's own length takes four bytes; refuse before it is reserved.
        if let Some(&[a, b, c, d]) = data.get(8..12)
            && data.get(6).is_some_and(|&version| version >= 2)
            && u64::from(u32::from_le_bytes([a, b, c, d])) > LARGEST_FILE
        {
            return Err(self.wrong("the NPY header claims to be longer than the file"));
        }
        let damaged = |cause| self.damaged("NPY array of u2 or f4", data, cause);
        let npy = npyz::NpyFile::new(data).map_err(damaged)?;
        match *npy.shape() {
            [height, width] => self.check_size(width, height)?,
            _ => {
                return Err(self.wrong(format!(
                    "shape {:?}; write one array of (height, width) a frame",
                    npy.shape()
                )));
            }
        }
        if npy.order() != npyz::Order::C {
            return Err(
                self.wrong("columns come first; write it in C order (numpy.ascontiguousarray)")
            );
        }
        let npy = match npy.try_data::<u16>() {
            Ok(values) => {
                self.check_length(data, 2)?;
                let values: Result<Vec<_>, _> = values.collect();
                return values.map(Samples::U16).map_err(damaged);
            }
            Err(npy) => npy,
        };
        let kind = npy.dtype().descr();
        match npy.try_data::<f32>() {
            Ok(values) => {
                self.check_length(data, 4)?;
                let values: Result<Vec<_>, _> = values.collect();
                values.map(Samples::F32).map_err(damaged)
            }
            Err(_) => Err(self.wrong(format!("numbers are {kind}; write u2 or f4"))),
        }
    }
}
