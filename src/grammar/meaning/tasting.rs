//! The calls of a blind tasting.

use super::{NoCall, Result, Said, no};
use crate::grammar::call::TastingCall;
use crate::tasting::Code;

impl Said<'_> {
    pub(super) fn tasting(&mut self, variant: &str) -> Result<TastingCall> {
        Ok(match variant {
            "open" => TastingCall::Open {
                test: match self.test.take() {
                    Some(test) => test,
                    None => return no("a tasting of no kind"),
                },
                samples: std::iter::from_fn(|| self.sample().ok()).collect(),
                tasters: self.tasters.take(),
                attribute: self.attribute.take(),
            },
            "how_many" => TastingCall::HowMany {
                test: self.test.take(),
                share: self.share.take(),
                power: self.power.take(),
            },
            "sheet" => TastingCall::Sheet,
            "next" => TastingCall::NextTaster,
            "pick" => {
                // How the pick was put into words says nothing that the test does not.
                self.attribute = None;
                TastingCall::Pick {
                    taster: self.taster.take(),
                    code: Code::new(self.whole()?).map_err(|e| NoCall(e.to_string()))?,
                    guess: std::mem::take(&mut self.guess),
                }
            }
            "cant_tell" => TastingCall::CantTell {
                taster: self.taster.take(),
            },
            "leaves" => match self.taster.take() {
                Some(taster) => TastingCall::Leaves { taster },
                None => return no("no taster"),
            },
            "result" => TastingCall::Result,
            "which_is" => TastingCall::WhichIs {
                sample: self.sample().ok(),
            },
            _ => return no(format!("unknown call of a tasting {variant:?}")),
        })
    }
}
