//! Where the matrix and the sources part, with the reasons. No tests live here.

use super::run::Service::{self, *};
use super::sources::Said;

/// Pairs for which the rulebook does not do what the sources say of them.
pub struct Exception {
    /// What the sources say, which the rulebook does not follow.
    pub said: Said,
    pub services: &'static [Service],
    /// Both sides, written as in the tables of sources.
    pub sides: [&'static str; 2],
    pub reason: &'static str,
}

/// Base metal that may hold more than 3 % magnesium.
const RICH: &str = "5083|5086|5154|5254|5383|5456|5754|7039|Al-Mg castings";

pub const EXCEPTIONS: &[Exception] = &[
    Exception {
        said: Said::Welded,
        services: &[Hot],
        sides: [RICH, "any"],
        reason: "The metal beside the weld may hold more than 3 % magnesium and sensitises itself above 65 °C, whatever the \
                 filler: Dix, Anderson and Shumaker, Corrosion 15(2) 1959 (5454, of 2.4 to 3 %, is the one free of the \
                 limit). The rows that call these pairs welded do not speak of heat.",
    },
    Exception {
        said: Said::Welded,
        services: &[Hot],
        sides: ["7xxx", "any"],
        reason: "Metal that hardens by zinc goes on ageing at the heat of this service, 95 °C, and loses its strength, whatever the \
                 filler: EN 1999-1-1:2007, 3.2.2 (from memory), has its figures hold up to 80 °C. The rows that call these pairs \
                 welded do not speak of heat.",
    },
    Exception {
        said: Said::Welded,
        services: &Service::ALL,
        sides: ["2017", "2xxx|6xxx"],
        reason: "Mathers 2002, table 3.1, has 4047 as an acceptable alternative for 2xxx as a family. MIL-HDBK-5 and ASM \
                 Handbook vol. 6 (from memory, medium) hold 2017 to be not fusion welded, like 2024 beside it.",
    },
    Exception {
        said: Said::Welded,
        services: &Service::ALL,
        sides: ["7475", "3xxx|4xxx|5xxx|6xxx|7xxx"],
        reason: "Mathers 2002, table 3.1, has 5XXX for 7xxx as a family, which there are the alloys without copper. 7475 \
                 holds 1.5 % copper as 7075 does: not fusion welded, MIL-HDBK-5 (from memory, medium).",
    },
    Exception {
        said: Said::Welded,
        services: &[Anodised],
        sides: ["2014|2036", "6013|6061|6066"],
        reason: "Silicon weld metal comes out grey, and copper weld metal (2319) on the magnesium of 6xxx tears: what cures \
                 the cracks spoils the look. Mathers 2002, table 3.1, names 4047 and does not speak of finish.",
    },
    Exception {
        said: Said::NotWelded,
        services: &Service::ALL,
        sides: ["Al-Si castings", "5005|5050|5052|5251|5454|5652"],
        reason: "Mathers 2002, table 3.1, does not recommend Al-Si castings to 5xxx as a family of 0.8 to 5 % magnesium. Up \
                 to 2.8 % the Mg2Si of the diluted weld is little; AWS A5.10, guide table (from memory), lists 4043 for \
                 castings such as 356.0 with 5005, 5050, 5052 and 5454.",
    },
    Exception {
        said: Said::NotWelded,
        services: &Service::ALL,
        sides: ["2xxx", "5005|5050"],
        reason: "Mathers 2002, table 3.1, does not recommend 2xxx to 5xxx as a family. Copper and magnesium tear together; \
                 of the 0.8 to 1.4 % magnesium in 5005 and 5050 too little reaches the pool. The same table has 4047 for 2xxx \
                 to 3xxx, of which 3004 and 3105 hold as much magnesium.",
    },
    Exception {
        said: Said::NotWelded,
        services: &Service::ALL,
        sides: ["4006|4015", "5xxx|Al-Mg castings"],
        reason: "Mathers 2002, table 3.1, does not recommend 4xxx to 5xxx and to Al-Mg castings as a family, whose silicon makes \
                 Mg2Si of the magnesium. 4006 and 4015 hold 1 and 1.8 % silicon, hardly more than 6082, which the same table \
                 welds to both with 5XXX; the same book, p. 49, puts the border at 2 % silicon.",
    },
    Exception {
        said: Said::NotWelded,
        services: &Service::ALL,
        sides: ["4032|4043A", "5005|5050|5052|5251|5454|5652"],
        reason: "As for Al-Si castings of as much silicon: up to 2.8 % magnesium the Mg2Si of the diluted weld is little.",
    },
    Exception {
        said: Said::Welded,
        services: &Service::ALL,
        sides: ["4032|4043A", "7xxx"],
        reason: "Mathers 2002, table 3.1, has 5XXX and 4XXX for 4xxx to 7xxx, and does not recommend Al-Si castings to 7xxx. The \
                 rulebook goes by what the metal holds, not by how it was made, and the more cautious of the two rows governs.",
    },
];
