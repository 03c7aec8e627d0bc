//! Letters with accents taken apart, as far as the stroke alphabet has their parts.
//!
//! The part of Unicode's canonical decomposition (UAX #15) that can be drawn here: the whole of it takes
//! a browser 50 kB to load. The test below holds this part against it, letter by letter.

/// Accents, and the letters that have them, each followed by the plain one.
const ACCENTED: &[(&str, &str)] = &[
    ("\u{300}", "ÀAÈEÌIÒOÙUàaèeìiòoùuǸNǹnẀWẁwỲYỳy"),
    (
        "\u{301}",
        "ÁAÉEÍIÓOÚUÝYáaéeíióoúuýyĆCćcĹLĺlŃNńnŔRŕrŚSśsŹZźzǴGǵgǼÆǽæǾØǿøḰKḱkḾMḿmṔPṕpẂWẃw",
    ),
    (
        "\u{302}",
        "ÂAÊEÎIÔOÛUâaêeîiôoûuĈCĉcĜGĝgĤHĥhĴJĵjŜSŝsŴWŵwŶYŷyẐZẑz",
    ),
    ("\u{303}", "ÃAÑNÕOãañnõoĨIĩiŨUũuṼVṽvẼEẽeỸYỹy"),
    ("\u{308}", "ÄAËEÏIÖOÜUäaëeïiöoüuÿyŸYḦHḧhẄWẅwẌXẍxẗt"),
    ("\u{30a}", "ÅAåaŮUůuẘwẙy\u{212b}A"),
    ("\u{327}", "ÇCçcĢGģgĶKķkĻLļlŅNņnŖRŗrŞSşsŢTţtȨEȩeḐDḑdḨHḩh"),
    ("\u{304}", "ĀAāaĒEēeĪIīiŌOōoŪUūuǢÆǣæȲYȳyḠGḡg"),
    ("\u{306}", "ĂAăaĔEĕeĞGğgĬIĭiŎOŏoŬUŭu"),
    ("\u{328}", "ĄAąaĘEęeĮIįiŲUųuǪOǫo"),
    (
        "\u{307}",
        "ĊCċcĖEėeĠGġgİIŻZżzȦAȧaȮOȯoḂBḃbḊDḋdḞFḟfḢHḣhṀMṁmṄNṅnṖPṗpṘRṙrṠSṡsṪTṫtẆWẇwẊXẋxẎYẏy",
    ),
    (
        "\u{30c}",
        "ČCčcĎDďdĚEěeĽLľlŇNňnŘRřrŠSšsŤTťtŽZžzǍAǎaǏIǐiǑOǒoǓUǔuǦGǧgǨKǩkǰjȞHȟh",
    ),
    ("\u{30b}", "ŐOőoŰUűu"),
    ("\u{308}\u{304}", "ǕUǖuǞAǟaȪOȫo"),
    ("\u{308}\u{301}", "ǗUǘuḮIḯi"),
    ("\u{308}\u{30c}", "ǙUǚu"),
    ("\u{308}\u{300}", "ǛUǜu"),
    ("\u{307}\u{304}", "ǠAǡaȰOȱo"),
    ("\u{328}\u{304}", "ǬOǭo"),
    ("\u{30a}\u{301}", "ǺAǻa"),
    ("\u{303}\u{304}", "ȬOȭo"),
    ("\u{327}\u{301}", "ḈCḉc"),
    ("\u{304}\u{300}", "ḔEḕeṐOṑo"),
    ("\u{304}\u{301}", "ḖEḗeṒOṓo"),
    ("\u{327}\u{306}", "ḜEḝe"),
    ("\u{303}\u{301}", "ṌOṍoṸUṹu"),
    ("\u{303}\u{308}", "ṎOṏo"),
    ("\u{301}\u{307}", "ṤSṥs"),
    ("\u{30c}\u{307}", "ṦSṧs"),
    ("\u{304}\u{308}", "ṺUṻu"),
    ("\u{302}\u{301}", "ẤAấaẾEếeỐOốo"),
    ("\u{302}\u{300}", "ẦAầaỀEềeỒOồo"),
    ("\u{302}\u{303}", "ẪAẫaỄEễeỖOỗo"),
    ("\u{306}\u{301}", "ẮAắa"),
    ("\u{306}\u{300}", "ẰAằa"),
    ("\u{306}\u{303}", "ẴAẵa"),
];

/// The plain letter of `c`, and its accents from the inside out.
pub(super) fn taken_apart(c: char) -> Option<(char, &'static str)> {
    ACCENTED.iter().find_map(|(accents, letters)| {
        let mut pairs = letters.chars();
        while let (Some(letter), Some(plain)) = (pairs.next(), pairs.next()) {
            if letter == c {
                return Some((plain, *accents));
            }
        }
        None
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::strokes::{accent_of, plain};
    use unicode_normalization::UnicodeNormalization;

    /// Unicode's own decomposition, as the crate `unicode-normalization` has it: every letter whose
    /// parts the alphabet has, and no other.
    #[test]
    fn letters_come_apart_as_unicode_says() {
        for c in ('\0'..=char::MAX).filter(|&c| plain(c).is_none()) {
            let mut parts = core::iter::once(c).nfd();
            let base = parts
                .next()
                .filter(|&b| plain(b).is_some() || b == 'i' || b == 'j');
            let accents: String = parts.collect();
            let drawn = !accents.is_empty() && accents.chars().all(|a| accent_of(a).is_some());
            let theirs = base.filter(|_| drawn).map(|base| (base, accents.as_str()));
            assert_eq!(taken_apart(c), theirs, "{c:?} U+{:X}", u32::from(c));
        }
    }
}
