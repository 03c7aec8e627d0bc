//! Reading what people type for an angle.

use super::clean::{Kind, Token};
use super::entry::{entry, look_over, sign, stray};
use super::number::{Cursor, Fault, number};
use super::typed::{Ask, DecimalStyle, NumberRule, Question, Typed, Why};
use super::{Angle, Sides};
use serde::{Deserialize, Serialize};

/// An angle as typed and as understood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct TypedAngle {
    /// Exactly what was typed.
    pub raw: String,
    /// What was understood, with its sign.
    pub angle: Angle,
    /// How the digits were taken.
    pub rule: NumberRule,
    /// The question whose answer this is, if it had to be asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub asked: Option<Question>,
}

/// What a field for an angle takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct AngleOptions {
    /// How decimals are written here.
    pub decimals: DecimalStyle,
    /// The words for the sides of zero; without them a minus is refused.
    pub sides: Option<Sides>,
    /// The least that makes sense.
    pub least: Angle,
    /// The most that makes sense.
    pub most: Angle,
}

impl Default for AngleOptions {
    fn default() -> Self {
        Self {
            decimals: DecimalStyle::Point,
            sides: None,
            least: Angle::from_deg(-360.0),
            most: Angle::from_deg(360.0),
        }
    }
}

/// Reads what was typed into a field for an angle, in degrees: `14`, `14.5°`, `14 deg`.
///
/// Minutes, radians, slopes and anything else are refused in words.
#[must_use]
pub fn parse_angle(raw: &str, opts: &AngleOptions) -> Typed<TypedAngle> {
    entry(raw, &|raw, tokens| line(raw, tokens, opts))
}

const DEGREE: char = '°';

fn line(raw: &str, tokens: &[Token], opts: &AngleOptions) -> Result<Typed<TypedAngle>, Fault> {
    look_over(tokens, &[DEGREE, '%', ':'])?;
    let mut cur = Cursor {
        tokens,
        pos: 0,
        style: opts.decimals,
    };
    let minus = sign(&mut cur)?;
    let first = cur.pos;
    let n = number(&mut cur)?.ok_or_else(|| stray(&cur))?;
    if let Some(at) = &minus
        && opts.sides.is_none()
    {
        return Err(Fault::new(at, Why::MinusMeansNothing));
    }
    let at = cur.since(first);
    cur.skip_space();
    match cur.kind(0) {
        Some(Kind::Other(DEGREE)) => cur.pos += 1,
        Some(Kind::Word(w)) if is_degrees(w) => {
            cur.pos += 1;
            cur.take(&Kind::Point);
        }
        _ => {}
    }
    cur.skip_space();
    if let Some(t) = cur.peek(0) {
        let end = tokens.last().map_or(t.at.end, |t| t.at.end);
        let rest = t.at.start..end;
        return Err(match &t.kind {
            Kind::Dash | Kind::Plus | Kind::PlusMinus | Kind::Slash | Kind::Point | Kind::Comma => {
                stray(&cur)
            }
            _ => {
                let chars = raw.chars().skip(rest.start).take(rest.len());
                Fault::new(
                    &rest,
                    Why::DegreesOnly {
                        text: chars.collect(),
                    },
                )
            }
        });
    }
    let all: Vec<TypedAngle> = n
        .readings
        .iter()
        .map(|(v, rule)| {
            let deg = v.to_f64();
            let angle = Angle::from_deg(if minus.is_some() && deg != 0.0 {
                -deg
            } else {
                deg
            });
            TypedAngle {
                raw: raw.to_owned(),
                angle,
                rule: *rule,
                asked: n.question,
            }
        })
        .collect();
    let fits = |t: &&TypedAngle| opts.least <= t.angle && t.angle <= opts.most;
    // Thousands of degrees are out of range, which settles most doubts about marks.
    let fitting: Vec<TypedAngle> = all.iter().filter(fits).cloned().collect();
    match (fitting.as_slice(), n.question) {
        ([], _) => {
            let angle = all.first().map_or(Angle::ZERO, |t| t.angle);
            Err(Fault::new(
                &at,
                Why::AngleOutOfRange {
                    angle,
                    least: opts.least,
                    most: opts.most,
                },
            ))
        }
        ([_, _, ..], Some(question)) => Ok(Typed::Ask(Ask {
            question,
            readings: fitting,
        })),
        ([only, ..], _) => Ok(Typed::Understood(TypedAngle {
            asked: None,
            ..only.clone()
        })),
    }
}

fn is_degrees(w: &str) -> bool {
    ["deg", "degs", "degree", "degrees"]
        .iter()
        .any(|d| d.eq_ignore_ascii_case(w))
}
