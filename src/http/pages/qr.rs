//! The QR symbol of a machine, on its tag and on its label: it opens the machine at the gate.

use qrcode::{Color, EcLevel, QrCode};

/// A QR symbol as one path, with its quiet zone.
pub struct Symbol {
    /// Modules along one side, quiet zone included.
    pub side: usize,
    pub path: String,
}

/// The quiet zone of a QR symbol is four modules on every side (ISO/IEC 18004). Level Q: a quarter of it may be muddy.
pub fn symbol(address: &str) -> Symbol {
    const QUIET: usize = 4;
    let Ok(code) = QrCode::with_error_correction_level(address, EcLevel::Q) else {
        // Only an address of more than a thousand letters does not fit; then the sheet shows it in letters alone.
        return Symbol { side: 0, path: String::new() };
    };
    let width = code.width();
    let mut path = String::new();
    for (n, color) in code.to_colors().into_iter().enumerate() {
        if color == Color::Dark {
            path.push_str(&format!("M{} {}h1v1h-1z", n % width + QUIET, n / width + QUIET));
        }
    }
    Symbol { side: width + 2 * QUIET, path }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO/IEC 18004, from memory: version 1 has 21 modules, each further one 4 more; three finder patterns 7 wide whose
    /// outer ring is dark; nothing in the quiet zone of 4.
    #[test]
    fn the_symbol_keeps_its_quiet_zone() {
        let qr = symbol("https://chock.example.org/machines/01938f1e-0000-7000-8000-000000000000");
        let width = qr.side - 8;
        assert_eq!((width - 21) % 4, 0);
        let dark: Vec<(usize, usize)> = qr
            .path
            .split('M')
            .skip(1)
            .map(|m| {
                let (x, y) = m.trim_end_matches("h1v1h-1z").split_once(' ').unwrap();
                (x.parse().unwrap(), y.parse().unwrap())
            })
            .collect();
        assert!(dark.iter().all(|(x, y)| (4..4 + width).contains(x) && (4..4 + width).contains(y)));
        for (left, top) in [(4, 4), (4 + width - 7, 4), (4, 4 + width - 7)] {
            assert!((0..7).all(|n| dark.contains(&(left + n, top)) && dark.contains(&(left, top + n))));
        }
        assert!(!dark.contains(&(4 + width - 7, 4 + width - 1)), "the fourth corner has no finder pattern");
    }
}
