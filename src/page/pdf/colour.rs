//! The colours' meaning in the file: an output intent with a profile of sRGB.
//!
//! The profile is written out here: three primaries and one curve. Source: IEC 61966-2-1 for the curve; the primaries
//! adapted to D50 by the Bradford method as the International Color Consortium's sRGB profile lists them (from memory,
//! checked: each column adds up to the D50 white point); layout of the file by ICC.1:2010 (version 4).

use lopdf::{Dictionary, Document, Object, Stream, dictionary};

/// D50 white, and the red, green and blue of sRGB adapted to it.
const WHITE: [f64; 3] = [0.9642, 1.0, 0.8249];
const RED: [f64; 3] = [0.436_07, 0.222_49, 0.013_92];
const GREEN: [f64; 3] = [0.385_15, 0.716_87, 0.097_08];
const BLUE: [f64; 3] = [0.143_07, 0.060_61, 0.714_1];
/// Exponent and the four constants of the curve of sRGB.
const CURVE: [f64; 5] = [2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.040_45];
const HEADER: usize = 128;

fn fixed(value: f64) -> [u8; 4] {
    ((value * 65_536.0).round() as i32).to_be_bytes()
}

fn xyz(of: [f64; 3]) -> Vec<u8> {
    let mut bytes = b"XYZ \0\0\0\0".to_vec();
    bytes.extend(of.iter().flat_map(|value| fixed(*value)));
    bytes
}

fn curve() -> Vec<u8> {
    // Parametric curve of type 3: five constants.
    let mut bytes = b"para\0\0\0\0\0\x03\0\0".to_vec();
    bytes.extend(CURVE.iter().flat_map(|value| fixed(*value)));
    bytes
}

fn words(text: &str) -> Vec<u8> {
    let utf16: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
    let mut bytes = b"mluc\0\0\0\0\0\0\0\x01\0\0\0\x0cenUS".to_vec();
    bytes.extend((utf16.len() as u32).to_be_bytes());
    bytes.extend(28_u32.to_be_bytes());
    bytes.extend(utf16);
    bytes
}

/// The profile.
pub fn profile() -> Vec<u8> {
    let tags: [(&[u8; 4], Vec<u8>); 9] = [
        (b"desc", words("sRGB")),
        (b"cprt", words("No copyright, use freely")),
        (b"wtpt", xyz(WHITE)),
        (b"rXYZ", xyz(RED)),
        (b"gXYZ", xyz(GREEN)),
        (b"bXYZ", xyz(BLUE)),
        (b"rTRC", curve()),
        (b"gTRC", curve()),
        (b"bTRC", curve()),
    ];
    let mut table = (tags.len() as u32).to_be_bytes().to_vec();
    let mut data: Vec<u8> = Vec::new();
    let first = HEADER + 4 + 12 * tags.len();
    for (name, mut bytes) in tags {
        table.extend(name);
        table.extend(((first + data.len()) as u32).to_be_bytes());
        table.extend((bytes.len() as u32).to_be_bytes());
        bytes.resize(bytes.len().next_multiple_of(4), 0);
        data.extend(bytes);
    }
    let mut file = vec![0_u8; HEADER];
    let whole = (first + data.len()) as u32;
    file.splice(0..4, whole.to_be_bytes());
    file.splice(8..24, *b"\x04\0\0\0mntrRGB XYZ ");
    // A fixed day: the clock has no place in the file.
    file.splice(24..36, [0x07, 0xd0, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0]);
    file.splice(36..40, *b"acsp");
    file.splice(68..80, WHITE.iter().flat_map(|value| fixed(*value)));
    file.extend(table);
    file.extend(data);
    file
}

/// Adds the output intent to the catalogue.
pub fn intend(file: &mut Document) -> Result<(), lopdf::Error> {
    let stream = Stream::new(dictionary! { "N" => 3_i64, "Alternate" => "DeviceRGB" }, profile());
    let profile = file.add_object(stream);
    let intent: Dictionary = dictionary! {
        "Type" => "OutputIntent",
        "S" => "GTS_PDFA1",
        "OutputConditionIdentifier" => Object::string_literal("sRGB"),
        "Info" => Object::string_literal("sRGB"),
        "DestOutputProfile" => profile,
    };
    let intent = file.add_object(intent);
    file.catalog_mut()?.set("OutputIntents", Object::Array(vec![intent.into()]));
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_primaries_add_up_to_the_white_point_and_the_file_says_its_own_length() {
        for i in 0..3 {
            assert!((RED[i] + GREEN[i] + BLUE[i] - WHITE[i]).abs() < 2e-4, "{i}");
        }
        let file = profile();
        assert_eq!(u32::from_be_bytes([file[0], file[1], file[2], file[3]]) as usize, file.len());
        assert_eq!(&file[36..40], b"acsp");
    }

    #[test]
    fn the_curve_meets_at_its_knee() {
        let [g, a, b, c, d] = CURVE;
        assert!(((a * d + b).powf(g) - c * d).abs() < 1e-6);
    }
}
