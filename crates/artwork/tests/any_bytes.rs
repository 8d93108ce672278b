//! Readers on damaged files: no bytes make them panic or take long. A fuzz target for longer runs is in fuzz/.

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use artwork::reading::read_artwork;

const SEEDS: [(&str, &str); 6] = [
    (
        "top.gbr",
        "%FSLAX36Y36*%%MOMM*%%AMM1*1,1,$1,0,0*$2=$1x2*21,1,$2,1,0,0,45*4,1,3,0,0,1,0,1,1,0,0,0*7,0,0,2,1,0.2,0*%%ADD10M1,1.5*%\
         %ADD11C,0.5X0.2*%%ADD12P,1X5X30*%D10*X0Y0D03*D11*G75*X1000000Y0D02*G03*X0Y1000000I-1000000J0D01*G74*G02*X1000000Y0I0J1000000D01*\
         %LPC*%G36*X0Y0D02*G01*X1000000D01*Y1000000D01*X0Y0D01*G37*%LPD*%%SRX2Y3I1J1*%D12*X0Y0D03*%SR*%%ABD20*%D11*X0Y0D03*%AB*%\
         %LMX*%%LR30*%%LS0.5*%D20*X0Y0D03*%TO.N,A*%%TD*%M02*",
    ),
    ("edge.gko", "%FSLAX24Y24*%%MOIN*%%ADD10C,0*%D10*X0Y0D02*X10000D01*Y10000D01*X0D01*Y100D01*M02*"),
    (
        "holes.drl",
        "M48\nINCH,LZ\nT1C0.030\nT02C0.1F1S2\n%\nG90\nT1\nX01Y01\nX02\nR5X001Y001\nX01Y01G85X02Y02\nT02\nG00X01Y02\nM15\nG01X02\nG03X01Y01A0.5\nM16\nG05\nM30\n",
    ),
    (
        "bottom.gbl",
        "%FSLAX36Y36*%%MOMM*%%ADD10C,1*%%ADD11C,0.3*%%TO.N,A*%%TO.P,D1,1,K*%D10*X0Y0D03*%TO.N,B,C\\u00B5*%X254000Y508000D03*\
         %TD*%%TO.N,N/C*%G36*X0Y0D02*X5000000D01*Y5000000D01*X0Y0D01*G37*%LPC*%D11*X0Y0D02*X4000000Y3000000D01*%LPD*%\
         %TO.C,R1*%D11*X4000000D02*Y4000000D01*M02*",
    ),
    (
        "list.ipc",
        "C  points\nP  UNITS CUST 0\nP  NNAME1 LONG_NAME\n\
         327NNAME1           D1    -1          A01X+000100Y+000200X0350Y0400R090 S1\n\
         317B                J1    -2   MD0320PA00X 000100Y 000200X0600Y0000R000 S0\n\
         017                 VIA         D0120PA00X-000100Y+000300X0240Y      S3\n\
         367N/C              H1    -1    D1250UA00X+002000Y+002000X1250\n378A L01 X0100 X+01Y-02\n999\n",
    ),
    (
        "places.csv",
        "Ref,Val,X (mm),Y (mm),Rot,Side\nD1,\"white, 90\",1.5,2.25,90,top\nD2,x,\"3,5\",4mil,-90,bottom\n",
    ),
];

struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % sides.max(1) as u64) as usize
    }
}

fn damaged(seed: &[u8], dice: &mut Dice) -> Vec<u8> {
    const LIKELY: &[u8] = b"*%,.+-$0123456789GDXYIJMTRC\r\n\0\xff\xb5 x/()=;\"";
    let mut bytes = seed.to_vec();
    for _ in 0..=dice.roll(8) {
        let at = dice.roll(bytes.len());
        match dice.roll(6) {
            0 => bytes.truncate(at),
            1 if !bytes.is_empty() => bytes[at] = LIKELY[dice.roll(LIKELY.len())],
            2 => bytes.insert(at, LIKELY[dice.roll(LIKELY.len())]),
            3 if !bytes.is_empty() => {
                bytes.remove(at);
            }
            4 => {
                let end = (at + dice.roll(40)).min(bytes.len());
                let piece = bytes[at..end].to_vec();
                let to = dice.roll(bytes.len());
                bytes.splice(to..to, piece);
            }
            _ => bytes.splice(at..at, b"99999999".iter().copied()).for_each(drop),
        }
    }
    bytes
}

#[test]
fn no_bytes_make_a_reader_panic() {
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let began = Instant::now();
    let mut slowest = Duration::ZERO;
    for round in 0..4000 {
        let (name, seed) = SEEDS[round % SEEDS.len()];
        let files: Vec<(String, Vec<u8>)> = SEEDS
            .iter()
            .map(|(other, text)| {
                let bytes = if *other == name {
                    damaged(seed.as_bytes(), &mut dice)
                } else {
                    text.as_bytes().to_vec()
                };
                ((*other).to_owned(), bytes)
            })
            .collect();
        let one = Instant::now();
        let artwork = read_artwork(&files, &BTreeMap::new());
        let nets = artwork.nets();
        assert!(nets.islands.iter().all(|island| island.net < nets.nets.len()));
        slowest = slowest.max(one.elapsed());
        assert!(artwork.layers.iter().all(|layer| layer.area.area_mm2().is_finite()));
        // A slow machine does fewer rounds; a reader that hangs is caught below.
        if began.elapsed() > Duration::from_secs(20) {
            break;
        }
    }
    assert!(slowest < Duration::from_secs(10), "one small file took {slowest:?}");
}
