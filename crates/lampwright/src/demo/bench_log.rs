//! The invented logs of the demo's bench test. Nothing here is shared with what reads and judges logs: temperatures are
//! step responses of two time constants, the rest are numbers that were made up.

use std::fmt::Write;

/// Which board was on the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Board {
    /// FR4; the fan fails for some minutes.
    Plain,
    /// Aluminium core; the logger is unplugged for some minutes.
    Core,
}

/// Drive currents, A, and the heat that goes into the board at each of them, W.
const DRIVES: [(f64, f64); 4] = [(0.35, 4.2), (0.7, 9.7), (0.85, 12.4), (1.05, 16.0)];
/// Before the first current, s.
const COLD_S: usize = 300;
/// Each current is held, s.
const HELD_S: usize = 2100;
/// From the board to the base: its time constant, s.
const FAST_S: f64 = 24.0;
/// Base to room with the fan turning, s; and with the fan at rest.
const SLOW_S: [f64; 2] = [400.0, 950.0];
/// Base to room, K/W; the same.
const SLOW_K_PER_W: [f64; 2] = [1.21, 3.3];
/// From when the fan of the plain board stands still, and how long, s.
const FAN_OFF_S: (usize, usize) = (COLD_S + 2 * HELD_S + 900, 240);
/// From when the logger of the core board is unplugged, and how long, s.
const UNPLUGGED_S: (usize, usize) = (COLD_S + HELD_S + 700, 170);
/// A step of the logger's converter, V: 12 bits of 3.3 V.
const CONVERTER_V: f64 = 3.3 / 4096.0;

/// The log as the logger wrote it: a row a second.
#[must_use]
pub fn log(board: Board) -> String {
    let mut text = String::from(
        "Logger of the bench, invented for the demo\nInterval: 1 s\n\n\
         time;U1 (V);ambient (degC);I drive (A);U string A (V);U fan (V)\n",
    );
    let (fast_k_per_w, day, mut noise) = match board {
        Board::Plain => (0.25, 14, Noise(0x9e37_79b9_7f4a_7c15)),
        Board::Core => (0.10, 15, Noise(0xd1b5_4a32_d192_ed03)),
    };
    let (mut fast_k, mut base_c) = (0.0, room_c(0));
    for second in 0..COLD_S + DRIVES.len() * HELD_S {
        let step = second.checked_sub(COLD_S).map(|since| since / HELD_S);
        let (current_a, heat_w) = step.and_then(|step| DRIVES.get(step)).copied().unwrap_or((0.0, 0.0));
        let during = |(from, long): (usize, usize)| (from..from + long).contains(&second);
        let fan_off = board == Board::Plain && during(FAN_OFF_S);
        let still = usize::from(fan_off);
        fast_k += (fast_k_per_w * heat_w - fast_k) * (1.0 - (-1.0 / FAST_S).exp());
        let room_c = room_c(second);
        // One time constant for what heats the base and for the room: a lump of metal that one resistance joins to the air.
        base_c += (room_c + SLOW_K_PER_W[still] * heat_w - base_c) * (1.0 - (-1.0 / SLOW_S[still]).exp());
        let board_c = base_c + fast_k;
        let sensor_v = 0.5 + 0.010 * board_c + 0.0006 * noise.next();
        let read_v = (sensor_v / CONVERTER_V).round() * CONVERTER_V;
        let string_v = if current_a > 0.0 {
            4.0 * (2.62 + 0.36 * current_a - 0.0016 * (board_c - 22.3)) + 0.004 * noise.next()
        } else {
            0.0
        };
        let fan_v = if fan_off { 0.0 } else { 8.02 + 0.01 * noise.next() };
        let ambient_c = room_c + 0.06 * noise.next();
        let drive_a = if current_a > 0.0 { current_a + 0.001 * noise.next() } else { 0.0 };
        if board == Board::Core && during(UNPLUGGED_S) {
            continue;
        }
        // Both evenings begin at 18:02:00.
        let clock = 18 * 3600 + 120 + second;
        let row = format!(
            "2026-02-{day} {:02}:{:02}:{:02};{read_v:.4};{ambient_c:.1};{drive_a:.3};{string_v:.2};{fan_v:.2}",
            clock / 3600,
            clock / 60 % 60,
            clock % 60
        );
        let _ = writeln!(text, "{}", row.replace('.', ","));
    }
    text
}

/// The room warms up, and its heating comes and goes; degC.
fn room_c(second: usize) -> f64 {
    22.3 + 0.75 * (second as f64 / 3600.0) + 0.25 * triangle(second, 1500)
}

/// Between -1 and 1, up and down once a period.
fn triangle(second: usize, period: usize) -> f64 {
    let phase = (second % period) as f64 / period as f64;
    if phase < 0.5 { 4.0 * phase - 1.0 } else { 3.0 - 4.0 * phase }
}

/// Noise of mean 0 and deviation 1: twelve even numbers summed, from a xorshift generator.
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> f64 {
        let even = |state: &mut u64| {
            *state ^= *state << 13;
            *state ^= *state >> 7;
            *state ^= *state << 17;
            (*state >> 11) as f64 / (1u64 << 53) as f64
        };
        (0..12).map(|_| even(&mut self.0)).sum::<f64>() - 6.0
    }
}
