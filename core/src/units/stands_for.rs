//! Signs that stand for plain letters, digits and marks: wide forms, letters of formulas, signs for
//! units, ligatures.
//!
//! The part of Unicode's compatibility decomposition (UAX #15) that a measurement may be typed in. The
//! whole of it takes a browser 50 kB to load, at the start and again with the core; the tests of
//! `clean` hold this part against it, sign by sign.

/// Each sign, or the first and the last of a run, with what it, or the first, stands for.
const STANDS_FOR: &str = "\
    ªa ĲIJ ĳij ĿL· ŀl· ŉʼn ſs ǇLJ ǈLj ǉlj ǊNJ ǋNj ǌnj ǱDZ ǲDz ǳdz ʰh ʲj ʳr ʷw ʸy ˡl ˢs ˣx \u{374}ʹ \u{37e}; \
    \u{387}· ᴬA ᴮB ᴰ-ᴱD ᴳ-ᴺG ᴼO ᴾP ᴿR ᵀ-ᵁT ᵂW ᵃa ᵇb ᵈ-ᵉd ᵍg ᵏk ᵐm ᵒo ᵖp ᵗ-ᵘt ᵛv ᵢi ᵣr ᵤ-ᵥu ᶜc ᶠf ᶻz \u{1fef}` \
    ․. ‥.. …... ‴′′′ ‷‵‵‵ ⁗′′′′ ⁱi ⁺+ ⁻− ⁿn ₊+ ₋− ₐa ₑe ₒo ₓx ₕh ₖ-ₙk ₚp ₛ-ₜs ₨Rs ℀a/c ℁a/s ℂC \
    ℅c/o ℆c/u ℊg ℋH ℌH ℍH ℎh ℐI ℑI ℒL ℓl ℕN №No ℙ-ℛP ℜR ℝR ℠SM ℡TEL ™TM ℤZ ℨZ \u{212a}K ℬ-ℭB ℯe ℰ-ℱE ℳM \
    ℴo ℹi ℻FAX ⅅD ⅆ-ⅇd ⅈ-ⅉi ⅠI ⅡII ⅢIII ⅣIV ⅤV ⅥVI ⅦVII ⅧVIII ⅨIX ⅩX ⅪXI ⅫXII ⅬL Ⅽ-ⅮC ⅯM ⅰi ⅱii \
    ⅲiii ⅳiv ⅴv ⅵvi ⅶvii ⅷviii ⅸix ⅹx ⅺxi ⅻxii ⅼl ⅽ-ⅾc ⅿm Ⓐ-ⓏA ⓐ-ⓩa ⱼj ⱽV ㉐PTE ㋌Hg ㋍erg ㋎eV ㋏LTD \
    ㍱hPa ㍲da ㍳AU ㍴bar ㍵oV ㍶pc ㍷dm ㍺IU ㎀pA ㎁nA ㎂μA ㎃mA ㎄kA ㎅KB ㎆MB ㎇GB ㎈cal ㎉kcal ㎊pF ㎋nF ㎌μF ㎍μg \
    ㎎mg ㎏kg ㎐Hz ㎑kHz ㎒MHz ㎓GHz ㎔THz ㎕μl ㎖ml ㎗dl ㎘kl ㎙fm ㎚nm ㎛μm ㎜mm ㎝cm ㎞km ㎧m∕s ㎩Pa ㎪kPa ㎫MPa \
    ㎬GPa ㎭rad ㎰ps ㎱ns ㎲μs ㎳ms ㎴pV ㎵nV ㎶μV ㎷mV ㎸kV ㎹MV ㎺pW ㎻nW ㎼μW ㎽mW ㎾kW ㎿MW ㏂a.m. ㏃Bq ㏄cc ㏅cd \
    ㏆C∕kg ㏇Co. ㏈dB ㏉Gy ㏊ha ㏋HP ㏌in ㏍KK ㏎KM ㏏kt ㏐lm ㏑ln ㏒log ㏓lx ㏔mb ㏕mil ㏖mol ㏗PH ㏘p.m. ㏙PPM ㏚PR \
    ㏛sr ㏜Sv ㏝Wb ㏞V∕m ㏟A∕m ㏿gal ꟲC ꟳF ꟴQ ﬀff ﬁfi ﬂfl ﬃffi ﬄffl ﬅst ﬆst ﬩+ ︐, ︔; ︙... ︰.. ︱— ︲– ﹐, \
    ﹒. ﹔; ﹘— ﹢+ ﹣- ＂\" ＇' ＋-９+ ；; Ａ-ＺA ｀-ｚ` 𐞥q 𝐀-𝐙A 𝐚-𝐳a 𝐴-𝑍A 𝑎-𝑔a 𝑖-𝑧i 𝑨-𝒁A 𝒂-𝒛a 𝒜A 𝒞-𝒟C 𝒢G \
    𝒥-𝒦J 𝒩-𝒬N 𝒮-𝒵S 𝒶-𝒹a 𝒻f 𝒽-𝓃h 𝓅-𝓏p 𝓐-𝓩A 𝓪-𝔃a 𝔄-𝔅A 𝔇-𝔊D 𝔍-𝔔J 𝔖-𝔜S 𝔞-𝔷a 𝔸-𝔹A 𝔻-𝔾D 𝕀-𝕄I 𝕆O 𝕊-𝕐S \
    𝕒-𝕫a 𝕬-𝖅A 𝖆-𝖟a 𝖠-𝖹A 𝖺-𝗓a 𝗔-𝗭A 𝗮-𝘇a 𝘈-𝘡A 𝘢-𝘻a 𝘼-𝙕A 𝙖-𝙯a 𝙰-𝚉A 𝚊-𝚣a 𝛍μ 𝜇μ 𝝁μ 𝝻μ 𝞵μ 𝟎-𝟗0 𝟘-𝟡0 \
    𝟢-𝟫0 𝟬-𝟵0 𝟶-𝟿0 🄫C 🄬R 🄭CD 🄮WZ 🄰-🅉A 🅊HV 🅋MV 🅌SD 🅍SS 🅎PPV 🅏WC 🅪MC 🅫MD 🅬MR 🆐DJ 🯰-🯹0 \
    \u{209d}w \u{209e}-\u{209f}y \u{a7f1}S \u{1ccd6}-\u{1ccef}A";

/// One entry: the first and the last sign of a run, and what the first stands for.
type Entry = (char, char, &'static str);

/// The list taken apart, by its signs. A pasted text may hold thousands of odd characters, and to go
/// through the list as it is written for each takes seconds.
pub(super) struct Signs(Vec<Entry>);

impl Signs {
    pub(super) fn all() -> Self {
        let mut all: Vec<Entry> = STANDS_FOR.split(' ').filter_map(taken_apart).collect();
        all.sort_unstable_by_key(|(first, ..)| *first);
        Self(all)
    }

    /// What a sign stands for, letter by letter; nothing where that is no part of a measurement.
    pub(super) fn plain(&self, c: char) -> impl Iterator<Item = char> + use<> {
        let beyond = self.0.partition_point(|(first, ..)| *first <= c);
        let entry = beyond.checked_sub(1).and_then(|i| self.0.get(i)).copied();
        let found = entry.and_then(|(first, last, words)| {
            let on = u32::from(c).checked_sub(u32::from(first))?;
            let moved = move |w: char| char::from_u32(u32::from(w) + on).unwrap_or(w);
            (c <= last).then(|| words.chars().map(moved))
        });
        found.into_iter().flatten()
    }
}

fn taken_apart(entry: &'static str) -> Option<Entry> {
    let mut rest = entry.chars();
    let first = rest.next()?;
    let mut run = rest.clone();
    Some(match (run.next(), run.next(), run.as_str()) {
        (Some('-'), Some(last), words) if !words.is_empty() => (first, last, words),
        _ => (first, first, rest.as_str()),
    })
}
