//! March rates and frontages of published handbooks, each with its source.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A yard: 0.9144 m exactly (international yard and pound agreement, 1959; NIST SP 811).
pub const METRES_PER_YARD: f64 = 0.9144;

/// How troops march.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Gait {
    /// Foot in quick time: 100 yards a minute.
    QuickTime,
    /// Foot on the march: 98 yards a minute, 3 miles an hour with halts.
    Infantry,
    /// Mounted troops at a walk: 117 yards a minute.
    MountedWalk,
    /// Mounted troops at a trot: 235 yards a minute.
    Trot,
    /// Mounted troops at a gallop: 440 yards a minute.
    Gallop,
}

impl Gait {
    /// Every gait, slowest first.
    pub const ALL: [Self; 5] = [
        Self::Infantry,
        Self::QuickTime,
        Self::MountedWalk,
        Self::Trot,
        Self::Gallop,
    ];

    /// Yards a minute.
    #[must_use]
    pub fn yards_per_minute(self) -> f64 {
        match self {
            // 120 paces of 30 inches: 3600 inches
            Self::QuickTime => 100.0,
            Self::Infantry => 98.0,
            Self::MountedWalk => 117.0,
            Self::Trot => 235.0,
            Self::Gallop => 440.0,
        }
    }

    /// Metres a minute.
    #[must_use]
    pub fn metres_per_minute(self) -> f64 {
        self.yards_per_minute() * METRES_PER_YARD
    }

    /// Where the rate is published.
    #[must_use]
    pub fn source(self) -> &'static str {
        match self {
            Self::QuickTime => "Infantry Drill Regulations, United States Army, 1911",
            Self::Infantry | Self::MountedWalk | Self::Trot | Self::Gallop => {
                "Field Service Regulations, Part I, 1909 (reprint 1914)"
            }
        }
    }

    /// The gait in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::QuickTime => "foot in quick time",
            Self::Infantry => "foot on the march",
            Self::MountedWalk => "mounted, at a walk",
            Self::Trot => "mounted, at a trot",
            Self::Gallop => "mounted, at a gallop",
        }
    }
}

/// Front of one man in the ranks of closed-up foot.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FileWidth {
    /// Which army's regulations.
    pub army: &'static str,
    /// Metres of front for each file.
    pub metres: f64,
}

/// Fronts per man, as tabled in W. Balck, Tactics, vol. I (Fort Leavenworth, 1915), p. 48, "Front
/// and facing distance".
pub const FILE_WIDTHS: [FileWidth; 9] = [
    FileWidth {
        army: "France",
        metres: 0.70,
    },
    FileWidth {
        army: "Italy",
        metres: 0.70,
    },
    FileWidth {
        army: "Russia",
        metres: 0.70,
    },
    FileWidth {
        army: "Austria",
        metres: 0.75,
    },
    FileWidth {
        army: "Switzerland",
        metres: 0.75,
    },
    FileWidth {
        army: "Belgium",
        metres: 0.80,
    },
    FileWidth {
        army: "England",
        metres: 0.80,
    },
    FileWidth {
        army: "Germany",
        metres: 0.80,
    },
    FileWidth {
        army: "Japan",
        metres: 0.85,
    },
];
