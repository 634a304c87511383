//! Numbers in the check files beside the networks, for their tests.

pub fn bytes(base64: &str) -> Vec<u8> {
    let value = |c: u8| match c {
        b'A'..=b'Z' => c - b'A',
        b'a'..=b'z' => c - b'a' + 26,
        b'0'..=b'9' => c - b'0' + 52,
        b'+' => 62,
        _ => 63,
    };
    let (mut out, mut held, mut bits) = (Vec::new(), 0u32, 0);
    for c in base64.bytes().filter(|&c| c != b'=') {
        held = held << 6 | u32::from(value(c));
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            out.push((held >> bits) as u8);
        }
    }
    out
}

pub fn floats(base64: &str) -> Vec<f32> {
    let bytes = bytes(base64);
    let (numbers, _) = bytes.as_chunks::<4>();
    numbers.iter().map(|b| f32::from_le_bytes(*b)).collect()
}

pub fn samples(bytes: &[u8]) -> Vec<i16> {
    let (numbers, _) = bytes.as_chunks::<2>();
    numbers.iter().map(|b| i16::from_le_bytes(*b)).collect()
}
