//! What `hobcall cook` can be told.

use std::path::PathBuf;

#[derive(Debug, Clone, clap::Args)]
pub struct CookArgs {
    /// The plan to cook
    pub plan: PathBuf,

    /// Where the calls come from: `mic`, `typed` (lines on the standard input), or a sound file
    #[arg(long, value_name = "mic|typed|FILE", default_value = "mic")]
    pub ear: String,

    /// Recogniser (see `hobcall doctor` for those that are here)
    #[arg(long, value_name = crate::ear::ENGINES)]
    pub engine: Option<crate::ear::Engine>,

    /// Where the replies go: `speaker`, `system` (your system's own voice), `none` (text only)
    #[arg(long, value_name = "speaker|system|none", default_value = "speaker")]
    pub voice: String,

    /// When it should be on the table, such as 19:00 or "sunday 19:00" (default: the plan's `serve`)
    #[arg(long, value_name = "TIME")]
    pub serve: Option<String>,

    /// Also write the replies to this WAV file, on the cook's time line
    #[arg(long, value_name = "FILE")]
    pub replies: Option<PathBuf>,

    /// Play a sound file in real time instead of as fast as it can be heard
    #[arg(long)]
    pub paced: bool,

    /// Let typed lines carry their own time: `+12 h` lets half a day pass
    #[arg(long)]
    pub session_time: bool,

    /// The journal to write or go on with (default: found by the plan's name)
    #[arg(long, value_name = "FILE")]
    pub journal: Option<PathBuf>,

    /// Begin anew, even if a cook of this plan is unfinished
    #[arg(long)]
    pub new: bool,

    /// Serve a page to glance at (default address: this machine only, port 4662). An address
    /// of your network, such as 0.0.0.0:4662, opens it to whoever has the token it prints
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, default_missing_value = "127.0.0.1:4662")]
    pub board: Option<std::net::SocketAddr>,

    /// Seed of every random choice of this cook (default: from the system)
    #[arg(long)]
    pub seed: Option<u64>,
}
