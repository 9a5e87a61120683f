//! What only the program says: the pages of sight marks, the card to print and the rehearsal. The app carries none of it.

use super::{Language, fill};

macro_rules! phrases {
    ($($name:ident: $en:literal, $de:literal, $fr:literal;)*) => {
        /// A sentence, or a word of a table or drawing.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[allow(missing_docs, reason = "each is documented by its English text")]
        pub enum Phrase { $($name),* }

        impl Phrase {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$name),*];
        }

        const TEXTS: &[[&str; 3]] = &[$([$en, $de, $fr]),*];
    };
}

impl Phrase {
    /// In `language`.
    #[must_use]
    pub fn text(self, language: Language) -> &'static str {
        TEXTS[self as usize][language as usize]
    }

    /// In `language`, its gaps filled with `values`.
    #[must_use]
    pub fn with(self, language: Language, values: &[&str]) -> String {
        fill(self.text(language), values)
    }
}

phrases! {
    // Sight marks.
    MarksTitle: "Sight marks", "Visiermarken", "Repères de visée";
    MarksTitleOf: "Sight marks: {0}", "Visiermarken: {0}", "Repères de visée : {0}";
    MarksCaution: "Safety: shoot a new or predicted mark first at a close, safe distance with a clear overshoot area, and step out from there. The range captain and the national rules come first.", "Sicherheit: eine neue oder vorhergesagte Marke zuerst auf eine nahe, sichere Entfernung mit freiem Raum hinter dem Ziel schießen und von dort schrittweise zurückgehen. Schießleitung und nationale Regeln gehen vor.", "Sécurité : tirez d’abord un repère nouveau ou prédit à une distance courte et sûre, avec une zone libre derrière la cible, puis reculez pas à pas. Le directeur de tir et les règles nationales priment.";
    NoMarks: "no marks yet", "noch keine Marken", "pas encore de repères";
    ProofShot: "shot", "geschossen", "tiré";
    ProofPredicted: "predicted", "vorhergesagt", "prédit";
    MarkAdded: "Added {0} at {1} ({2}) to {3}, which now has {4} {4|mark|marks}.", "{0} bei {1} ({2}) in {3} aufgenommen; dort {4|steht|stehen} jetzt {4} {4|Marke|Marken}.", "{0} à {1} ({2}) ajouté à {3}, qui a maintenant {4} {4/repère/repères}.";
    ScaleUnitIs: "Numbers are those of the scale; 1 of them is {0} mm. {1}", "Zahlen sind die der Skala; 1 davon ist {0} mm. {1}", "Les nombres sont ceux de l’échelle ; 1 vaut {0} mm. {1}";
    ScaleInMm: "Numbers are those of the scale, in millimetres. {0}", "Zahlen sind die der Skala, in Millimetern. {0}", "Les nombres sont ceux de l’échelle, en millimètres. {0}";
    OneSd: "± is one standard deviation.", "± ist eine Standardabweichung.", "± est un écart type.";
    OnFaceSd: "On the face: one standard deviation of the height.", "Auf der Auflage: eine Standardabweichung der Höhe.", "Sur le blason : un écart type de la hauteur.";
    SuspectIs: "Look at the {0} mark again: {1} does not belong with the others (chance that it is wrong: {2}). {3} It is left out as far as it is doubted.", "Die Marke für {0} noch einmal ansehen: {1} gehört nicht zu den anderen (Chance, dass sie falsch ist: {2}). {3} Sie bleibt so weit außen vor, wie an ihr gezweifelt wird.", "Revoyez le repère de {0} : {1} ne va pas avec les autres (chance qu’il soit faux : {2}). {3} Il est laissé de côté autant qu’on en doute.";
    SuspectMayBe: "Look at the {0} mark again: {1} may not belong with the others (chance that it is wrong: {2}). {3} It is left out as far as it is doubted.", "Die Marke für {0} noch einmal ansehen: {1} gehört vielleicht nicht zu den anderen (Chance, dass sie falsch ist: {2}). {3} Sie bleibt so weit außen vor, wie an ihr gezweifelt wird.", "Revoyez le repère de {0} : {1} ne va peut-être pas avec les autres (chance qu’il soit faux : {2}). {3} Il est laissé de côté autant qu’on en doute.";
    OthersSay: "The others say {0}.", "Die anderen sagen {0}.", "Les autres disent {0}.";
    OthersNeither: "The others make no sense without it either.", "Die anderen passen auch ohne sie nicht zusammen.", "Les autres n’ont pas de sens sans lui non plus.";
    RowSpeed: "launch speed", "Abgang", "vitesse";
    RowDrag: "drag", "Luftwiderstand", "traînée";
    RowZero: "scale zero", "Nullpunkt der Skala", "zéro de l’échelle";
    DragIs: "{0} ± {1} per km ({2} % of the speed every 10 m)", "{0} ± {1} je km ({2} % der Geschwindigkeit alle 10 m)", "{0} ± {1} par km ({2} % de la vitesse tous les 10 m)";
    HeadMark: "mark", "Marke", "repère";
    HeadShot: "shot", "geschossen", "tiré";
    HeadFitted: "fitted", "Kurve", "courbe";
    HeadOffBy: "off by", "daneben", "écart";
    HeadWrong: "wrong?", "falsch?", "faux ?";
    OneMarkTells: "One mark tells the scale zero and little else: shoot a second one far from it.", "Eine Marke sagt den Nullpunkt der Skala und sonst wenig: weit davon eine zweite schießen.", "Un repère dit le zéro de l’échelle et guère plus : tirez-en un second, loin du premier.";
    MarksScatter: "The marks scatter {0} times as much as their standard deviations say: they are not as well known as claimed, or something changed between them.", "Die Marken streuen {0}-mal so weit, wie ihre Standardabweichungen sagen: sie sind nicht so genau bekannt wie behauptet, oder dazwischen hat sich etwas geändert.", "Les repères se dispersent {0} fois plus que ne le disent leurs écarts types : ils sont moins sûrs qu’annoncé, ou quelque chose a changé entre eux.";
    MarksBelong: "The marks belong together.", "Die Marken gehören zusammen.", "Les repères vont ensemble.";
    SpeedOrDrag: "Speed and drag cannot be told apart by these marks; predictions between them do not suffer from that.", "Geschwindigkeit und Luftwiderstand lassen sich mit diesen Marken nicht trennen; Vorhersagen dazwischen leiden nicht darunter.", "Ces repères ne séparent pas vitesse et traînée ; les prédictions entre eux n’en souffrent pas.";
    HeadDistance: "distance", "Entfernung", "distance";
    HeadEighty: "80 % between", "80 % zwischen", "80 % entre";
    HeadOnFace: "on the face", "auf der Auflage", "sur le blason";
    AndBetween: "and", "und", "et";
    ShotDoubted: "shot, but doubted", "geschossen, aber bezweifelt", "tiré, mais douteux";
    BeyondMarks: "beyond your marks", "jenseits deiner Marken", "au-delà de vos repères";
    ShootNext: "Shoot next: {0}. Over these distances that brings the error at the pin from {1} to {2} mm (root mean square).{3}", "Als Nächstes schießen: {0}. Über diese Entfernungen bringt das den Fehler am Pin von {1} auf {2} mm (quadratisches Mittel).{3}", "À tirer ensuite : {0}. Sur ces distances, l’erreur au viseur passe de {1} à {2} mm (moyenne quadratique).{3}";
    StartCloser: " It lies beyond your marks: start closer and step out.", " Sie liegt jenseits deiner Marken: näher anfangen und schrittweise zurückgehen.", " Elle est au-delà de vos repères : commencez plus près et reculez pas à pas.";
    // Aids at the line.
    GroupMiddle: "A group in the middle", "Eine Gruppe in der Mitte", "Un groupe au milieu";
    GroupLies: "A group {0}", "Eine Gruppe {0}", "Un groupe {0}";
    NotWrongMark: "{0} at {1} does not look like the wrong mark. {2}", "{0} auf {1} sieht nicht nach der falschen Marke aus. {2}", "{0} à {1} n’a pas l’air d’un mauvais repère. {2}";
    NoOtherMark: "There is no other mark to compare with: name some with --among.", "Es gibt keine andere Marke zum Vergleichen: mit --among welche nennen.", "Aucun autre repère à comparer : nommez-en avec --among.";
    ComparedWith: "Compared with the marks for {0}.", "Verglichen mit den Marken für {0}.", "Comparé aux repères de {0}.";
    LooksLikeMark: "This looks like the {0} mark at {1}.", "Das sieht nach der Marke für {0} auf {1} aus.", "On dirait le repère de {0} à {1}.";
    WouldPutIt: "{0} at {1}: the {2} mark would put it {3} (± {4} mm). Chance: {5}.", "{0} auf {1}: die Marke für {2} brächte sie {3} (± {4} mm). Chance: {5}.", "{0} à {1} : le repère de {2} le mettrait {3} (± {4} mm). Chance : {5}.";
    NextMark: "The {0} mark is next, at {1}.", "Danach kommt die Marke für {0}, mit {1}.", "Vient ensuite le repère de {0}, à {1}.";
    MarkForIs: "The mark for {0} is {1}. Read the scale before you move the sight.", "Die Marke für {0} ist {1}. Erst die Skala ablesen, dann stellen.", "Le repère de {0} est {1}. Lisez l’échelle avant de régler.";
    WindLands: "At {0} this wind lands an arrow aimed for still air {1}.", "Auf {0} bringt dieser Wind einen Pfeil, der für Windstille gezielt ist, {1}.", "À {0}, ce vent met une flèche visée pour l’air calme {1}.";
    AimOff: "Aim off: {0}. Or move the sight: {1}, which leaves {2}.", "Anhalten: {0}. Oder das Visier stellen: {1}; es bleibt {2}.", "Contre-visez : {0}. Ou réglez le viseur : {1} ; il reste {2}.";
    NotAtAll: "not at all", "gar nicht", "pas du tout";
    NothingOver: "nothing over", "nichts übrig", "rien";
    EachMetreASecond: "Each m/s more across moves the arrow {0} mm.", "Jeder m/s mehr von der Seite versetzt den Pfeil um {0} mm.", "Chaque m/s de plus en travers déplace la flèche de {0} mm.";
    GustsSpread: "The gusts spread the arrows by {0} mm across, one standard deviation.", "Die Böen streuen die Pfeile seitlich um {0} mm, eine Standardabweichung.", "Les rafales dispersent les flèches de {0} mm en travers, un écart type.";
    WindNote: "A wind that comes and goes is aimed off; a steady one may be dialled in, and is dialled out again at the next distance. The arrow is flown as a point: its turning into the wind is not.", "Wind, der kommt und geht, wird angehalten; steter kann eingestellt werden und wird auf der nächsten Entfernung wieder herausgenommen. Der Pfeil fliegt hier als Punkt: dass er sich in den Wind dreht, bleibt außen vor.", "Un vent qui va et vient se contre-vise ; un vent constant peut se régler, et se dérègle à la distance suivante. La flèche vole ici comme un point : qu’elle tourne dans le vent n’est pas compté.";
    SlopeUp: "{0}, {1} degrees uphill: {2} (80 % between {3} and {4}).", "{0}, {1} Grad bergauf: {2} (80 % zwischen {3} und {4}).", "{0}, {1} degrés en montée : {2} (80 % entre {3} et {4}).";
    SlopeDown: "{0}, {1} degrees downhill: {2} (80 % between {3} and {4}).", "{0}, {1} Grad bergab: {2} (80 % zwischen {3} und {4}).", "{0}, {1} degrés en descente : {2} (80 % entre {3} et {4}).";
    LevelIs: "That is the mark of {0} on the level; on the level {1} would be {2}.", "Das ist die Marke von {0} in der Ebene; in der Ebene wäre {1} {2}.", "C’est le repère de {0} à plat ; à plat, {1} serait {2}.";
    LevelNone: "No mark on the level is like it; on the level {0} would be {1}.", "Keine Marke in der Ebene ist so; in der Ebene wäre {0} {1}.", "Aucun repère à plat n’y correspond ; à plat, {0} serait {1}.";
    CosineSays: "The rule of the cosine says {0}: with its mark the arrow would land {1}.", "Die Kosinusregel sagt {0}: mit deren Marke träfe der Pfeil {1}.", "La règle du cosinus dit {0} : avec son repère la flèche arriverait {1}.";
    DistanceBeyond: "The distance lies beyond your marks.", "Die Entfernung liegt jenseits deiner Marken.", "La distance est au-delà de vos repères.";
    BendAtWaist: "A draw that changes with the slope changes the mark too: bend at the waist.", "Ein Auszug, der sich mit der Neigung ändert, ändert auch die Marke: in der Hüfte beugen.", "Une allonge qui change avec la pente change aussi le repère : pliez à la taille.";
    // The card to print.
    CardFunnel: "How far off may the first arrow be? 8 times in 10 within the band: cm on the face, up or down.", "Wie weit darf der erste Pfeil danebenliegen? In 8 von 10 Malen im Band: cm auf der Auflage, hoch oder tief.", "De combien la première flèche peut-elle s’écarter ? 8 fois sur 10 dans la bande : cm sur le blason, haut ou bas.";
    CardStrip: "Cut along the dashes. Lay its left edge to the scale, equal numbers together, or set the pin to a mark you shot and lay that wedge to the pointer. Wedge: shot. Line: predicted. Broken line: beyond your marks. Bar: 80 %.", "Längs der Striche ausschneiden. Die linke Kante an die Skala legen, gleiche Zahlen zusammen, oder den Pin auf eine geschossene Marke stellen und deren Keil an den Zeiger legen. Keil: geschossen. Linie: vorhergesagt. Gestrichelt: jenseits deiner Marken. Balken: 80 %.", "Découpez selon les tirets. Posez le bord gauche sur l’échelle, nombres égaux ensemble, ou réglez le viseur sur un repère tiré et posez ce coin sur l’index. Coin : tiré. Trait : prédit. Tirets : au-delà de vos repères. Barre : 80 %.";
    CardShot: "shot", "geschossen", "tiré";
    CardBetween: "predicted between shots", "vorhergesagt, dazwischen", "prédit entre les tirs";
    CardBeyond: "predicted beyond them", "vorhergesagt, jenseits", "prédit au-delà";
    CardMarks: "{0} marks, of which {1} were shot: {2}. {3}", "{0} Marken, davon {1} geschossen: {2}. {3}", "{0} repères, dont {1} tirés : {2}. {3}";
    CardFrom: "from {0} {0|mark|marks} shot{1}; arrow {2} g, {3} mm; launch {4} ± {5} m/s", "aus {0} {0|geschossenen Marke|geschossenen Marken}{1}; Pfeil {2} g, {3} mm; Abgang {4} ± {5} m/s", "de {0} {0/repère tiré/repères tirés}{1} ; flèche {2} g, {3} mm ; départ {4} ± {5} m/s";
    CardLatest: "; latest {0}", "; zuletzt {0}", " ; dernier {0}";
    CardBow: "eye to pin {0} mm, eye {1} mm above the arrow; {2}", "Auge bis Pin {0} mm, Auge {1} mm über dem Pfeil; {2}", "œil au viseur {0} mm, œil {1} mm au-dessus de la flèche ; {2}";
    CardUnit: "1 on the scale is {0} mm", "1 auf der Skala ist {0} mm", "1 sur l’échelle vaut {0} mm";
    CardInMm: "the scale is in millimetres", "die Skala ist in Millimetern", "l’échelle est en millimètres";
    CardRuler: "From end to end this ruler is 50 mm. If yours is not, print again at 100 % (actual size).", "Von Ende zu Ende misst dieses Lineal 50 mm. Misst deines anders, noch einmal mit 100 % (Originalgröße) drucken.", "D’un bout à l’autre cette règle fait 50 mm. Sinon, imprimez de nouveau à 100 % (taille réelle).";
    CardSafety: "Safety", "Sicherheit", "Sécurité";
    CardGuess: "A mark that you have not shot is a guess: {0}", "Eine Marke, die du nicht geschossen hast, ist geraten: {0}", "Un repère que vous n’avez pas tiré est une supposition : {0}";
    CardDrawn: "Drawn into {0}: {1} marks shot, {2} predicted, {3} of these beyond your marks.\nPrint it at 100 % (actual size) and check the 50 mm ruler before you cut.\n", "In {0} gezeichnet: {1} Marken geschossen, {2} vorhergesagt, {3} davon jenseits deiner Marken.\nMit 100 % (Originalgröße) drucken und vor dem Schneiden das Lineal von 50 mm prüfen.\n", "Dessiné dans {0} : {1} repères tirés, {2} prédits, dont {3} au-delà de vos repères.\nImprimez à 100 % (taille réelle) et vérifiez la règle de 50 mm avant de couper.\n";
    DrawnInto: "Drawn into {0}", "In {0} gezeichnet", "Dessiné dans {0}";
    // The rehearsal.
    PaceTitle: "When to touch the sight", "Wann das Visier stellen", "Quand régler le viseur";
    PaceRound: "One simulated round under every rule (seed {0}).", "Eine simulierte Runde unter jeder Regel (Startzahl {0}).", "Une série simulée sous chaque règle (graine {0}).";
    PaceRounds: "The same {1} simulated rounds under every rule (seed {0}).", "Dieselben {1} simulierten Runden unter jeder Regel (Startzahl {0}).", "Les mêmes {1} séries simulées sous chaque règle (graine {0}).";
    PaceFirstTitle: "How many arrows before the first touch?", "Wie viele Pfeile vor dem ersten Stellen?", "Combien de flèches avant le premier réglage ?";
    PacePoints: "points", "Punkte", "points";
    PaceGiven: "given", "ver-", "points";
    PaceMadeIt: "made it", "macht es", "rend";
    PaceTouches: "touches", "Stellen", "réglages";
    PaceWhen: "when to touch", "wann stellen", "quand régler";
    PaceARound: "a round", "je Runde", "par série";
    PaceAway: "away", "schenkt", "cédés";
    PaceWorse: "worse", "schlechter", "pire";
    PaceNever: "never touch", "nie stellen", "ne jamais régler";
    PaceEveryArrow: "after every arrow, fully", "nach jedem Pfeil, ganz", "après chaque flèche, en entier";
    PaceEveryThree: "after every three, by their mean", "nach je drei, um ihr Mittel", "toutes les trois, de leur moyenne";
    PaceEverySix: "after every six, by their mean", "nach je sechs, um ihr Mittel", "toutes les six, de leur moyenne";
    PaceThreeThenSix: "after three, then after every six", "nach drei, dann nach je sechs", "après trois, puis toutes les six";
    PaceOnceThree: "once, after three", "einmal, nach drei", "une fois, après trois";
    PaceOnceSix: "once, after six", "einmal, nach sechs", "une fois, après six";
    PaceHarmonic: "after the k-th arrow, by a k-th of it", "nach dem k-ten Pfeil, um ein k-tel davon", "après la k-ième flèche, d’un k-ième";
    PaceGoldward: "Goldward, touches cost nothing", "Goldward, Stellen kostet nichts", "Goldward, réglages gratuits";
    PaceCalm: "Goldward, a touch must pay", "Goldward, Stellen muss sich lohnen", "Goldward, un réglage doit payer";
    PaceLearner: "the perfect learner", "wer vollkommen lernt", "qui apprend parfaitement";
    PaceOracle: "the oracle", "das Orakel", "l’oracle";
    PaceSame: "Goldward's rule and the best rule of thumb here ({0}) are worth the same within the error of these rounds ({1} points a round apart)", "Goldwards Regel und die beste Faustregel hier ({0}) sind im Fehler dieser Runden gleich viel wert ({1} Punkte je Runde auseinander)", "La règle de Goldward et la meilleure règle simple ici ({0}) se valent, à l’erreur de ces séries près ({1} points par série d’écart)";
    PaceMore: "Goldward's rule is worth {1} points a round more than the best rule of thumb here ({0})", "Goldwards Regel ist {1} Punkte je Runde mehr wert als die beste Faustregel hier ({0})", "La règle de Goldward vaut {1} points par série de plus que la meilleure règle simple ici ({0})";
    PaceLess: "Goldward's rule is worth {1} points a round less than the best rule of thumb here ({0})", "Goldwards Regel ist {1} Punkte je Runde weniger wert als die beste Faustregel hier ({0})", "La règle de Goldward vaut {1} points par série de moins que la meilleure règle simple ici ({0})";
    PaceShare: "; it gets {0} of what anyone could gain who learns from arrows", "; sie holt {0} dessen, was gewinnen kann, wer aus Pfeilen lernt", " ; elle obtient {0} de ce que peut gagner qui apprend de ses flèches";
    PaceMustGain: "When a touch must gain {0} points, it touches {1} times a round instead of {2}, and that gives up {3} points.", "Muss ein Stellen {0} Punkte bringen, stellt sie {1}-mal je Runde statt {2}-mal und gibt dafür {3} Punkte her.", "Si un réglage doit rapporter {0} points, elle règle {1} fois par série au lieu de {2}, et cède {3} points.";
    PaceLegend: "A shot counts the score expected of where the sight was; given away is against the oracle; made it worse is the share of rounds with fewer points than never touching.", "Ein Schuss zählt die Punkte, die nach dem Stand des Visiers zu erwarten sind; verschenkt ist gegen das Orakel; schlechter ist der Anteil der Runden mit weniger Punkten als ohne Stellen.", "Un tir compte les points à attendre de la position du viseur ; cédés : contre l’oracle ; pire : part des séries avec moins de points que sans régler.";
    PaceLegendLearner: " The perfect learner knows the spread and which arrows were flyers and sets the sight without error after every arrow: no rule that learns from arrows can do better, and what it gives away nobody can keep.", " Wer vollkommen lernt, kennt die Streuung und die Ausreißer und stellt nach jedem Pfeil ohne Fehler: keine Regel, die aus Pfeilen lernt, kann mehr, und was er verschenkt, kann niemand behalten.", " Qui apprend parfaitement connaît la dispersion et les écarts et règle sans erreur après chaque flèche : aucune règle qui apprend des flèches ne fait mieux, et ce qu’il cède, personne ne peut le garder.";
    PaceLegendOracle: " The oracle always knows where the centre is.", " Das Orakel weiß immer, wo die Mitte ist.", " L’oracle sait toujours où est le centre.";
    PaceFirstLegend: "Goldward when a touch must pay and every arrow counts: the median, and from when to when in 80 % of simulated rounds; “leave it” where most rounds never touch. In sighting ends waiting costs nothing: touch towards their end. The rules of thumb say one, three or six arrows whatever the spread and the mark.", "Goldward, wenn sich Stellen lohnen muss und jeder Pfeil zählt: der Median, und von wann bis wann in 80 % der simulierten Runden; „lassen“, wo die meisten Runden nie stellen. In Probepassen kostet Warten nichts: gegen ihr Ende stellen. Die Faustregeln sagen einen, drei oder sechs Pfeile, wie auch Streuung und Marke sind.", "Goldward quand un réglage doit payer et que chaque flèche compte : la médiane, et de quand à quand dans 80 % des séries simulées ; « laisser » où la plupart ne règlent jamais. Aux volées d’essai, attendre ne coûte rien : réglez vers leur fin. Les règles simples disent une, trois ou six flèches, quels que soient la dispersion et le repère.";
    PaceSpread: "spread", "Streuung", "dispersion";
    PaceUnknown: "unknown mark", "unbekannte Marke", "repère inconnu";
    PacePredicted: "predicted mark", "vorhergesagte Marke", "repère prédit";
    PaceVerified: "verified today", "heute geprüft", "vérifié aujourd’hui";
    PaceLeave: "leave it ({0})", "lassen ({0})", "laisser ({0})";
    PaceFromTo: "{0} ({1} to {2})", "{0} ({1} bis {2})", "{0} ({1} à {2})";
    PaceToNever: "{0} ({1} to never)", "{0} ({1} bis nie)", "{0} ({1} à jamais)";
    PaceSighting: "{0} sighting {0|end|ends} and ", "{0} {0|Probepasse|Probepassen} und ", "{0} {0/volée/volées} d’essai et ";
    PaceTrust: " (trust {0})", " (Vertrauen {0})", " (confiance {0})";
    PaceTwoClicks: "{0} and {1} mm", "{0} und {1} mm", "{0} et {1} mm";
    PaceArcher: "{0}{1} ends of {2} at {3} on {4}. Spread {5} mrad ({6} mm on the face), first setting off by {7} mm{8}, {9} flyers, drift {10} mm an end, clicks of {11} on the face.", "{0}{1} Passen zu {2} auf {3}, Auflage {4}. Streuung {5} mrad ({6} mm auf der Auflage), erste Einstellung um {7} mm daneben{8}, {9} Ausreißer, Drift {10} mm je Passe, Klicks von {11} auf der Auflage.", "{0}{1} volées de {2} à {3} sur {4}. Dispersion {5} mrad ({6} mm sur le blason), premier réglage faux de {7} mm{8}, {9} d’écarts, dérive {10} mm par volée, clics de {11} sur le blason.";
    PaceCurves: "What each rule loses to the sight", "Was jede Regel ans Visier verliert", "Ce que chaque règle perd au viseur";
    PaceCurvesEach: "Points lost to the sight at each arrow (equal steps are equal factors)", "Punkte, die bei jedem Pfeil ans Visier gehen (gleiche Schritte sind gleiche Faktoren)", "Points perdus au viseur à chaque flèche (pas égaux, facteurs égaux)";
    PaceCurvesSum: "Points lost so far", "Bisher verlorene Punkte", "Points perdus jusqu’ici";
    PaceCurvesSighting: "sighting", "Probe", "essai";
    PaceCurvesShot: "arrows shot", "geschossene Pfeile", "flèches tirées";
    PaceCurvesAre: "{0} Curves: {1}.", "{0} Kurven: {1}.", "{0} Courbes : {1}.";
    FourTitle: "Four distances: is windage worth carrying?", "Vier Entfernungen: lohnt es, die Seite mitzunehmen?", "Quatre distances : vaut-il la peine de garder le latéral ?";
    FourAt: "{0} m on {1}", "{0} m auf {1}", "{0} m sur {1}";
    FourAbout: "{0} ends of {1} at {2}. Spread {3} mrad, trust {4} at first and of each mark, {5} % flyers, drift {6} mrad an end. The same {7} simulated rounds (seed {8}).", "{0} Passen zu {1} auf {2}. Streuung {3} mrad, Vertrauen {4} zu Beginn und je Marke, {5} % Ausreißer, Drift {6} mrad je Passe. Dieselben {7} simulierten Runden (Startzahl {8}).", "{0} volées de {1} à {2}. Dispersion {3} mrad, confiance {4} au départ et pour chaque repère, {5} % d’écarts, dérive {6} mrad par volée. Les mêmes {7} séries simulées (graine {8}).";
    FourSame: "Carrying windage and starting anew are worth the same within the error of these rounds ({0} points a round).", "Die Seite mitnehmen und neu anfangen sind im Fehler dieser Runden gleich viel wert ({0} Punkte je Runde).", "Garder le latéral et repartir à neuf se valent, à l’erreur de ces séries près ({0} points par série).";
    FourWorth: "Carrying what was learnt of windage is worth {0} points a round.", "Was über die Seite gelernt wurde mitzunehmen ist {0} Punkte je Runde wert.", "Garder ce qui a été appris du latéral vaut {0} points par série.";
    FourLoss: "Carrying what was learnt of windage is a loss of {0} points a round.", "Was über die Seite gelernt wurde mitzunehmen kostet {0} Punkte je Runde.", "Garder ce qui a été appris du latéral coûte {0} points par série.";
    FourLegend: "Under the distances stands what each gives away there against the oracle, which always knows where the centre is. The pin's windage error is the same at every distance; each mark's elevation is new.", "Unter den Entfernungen steht, was dort gegen das Orakel verschenkt wird, das immer weiß, wo die Mitte ist. Der Seitenfehler des Pins ist auf jeder Entfernung derselbe; die Höhe jeder Marke ist neu.", "Sous les distances : ce que chacun y cède à l’oracle, qui sait toujours où est le centre. L’erreur latérale du viseur est la même à toute distance ; la hauteur de chaque repère est nouvelle.";
    FourCarry: "carry the windage", "Seite mitnehmen", "garder le latéral";
    FourAnew: "start anew each time", "jedes Mal neu", "à neuf chaque fois";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_language_has_the_gaps_of_the_english_text() {
        let gaps = |text: &str| {
            let mut all: Vec<char> =
                text.split('{').skip(1).filter_map(|after| after.chars().next()).filter(char::is_ascii_digit).collect();
            all.sort_unstable();
            all.dedup();
            all
        };
        for phrase in Phrase::ALL {
            let [en, de, fr] = Language::ALL.map(|l| phrase.text(l));
            assert!(!de.is_empty() && !fr.is_empty(), "{phrase:?}");
            assert_eq!((gaps(de), gaps(fr)), (gaps(en), gaps(en)), "{phrase:?}");
        }
        assert_eq!(Phrase::CardLatest.with(Language::German, &["2026-05-03"]), "; zuletzt 2026-05-03");
    }
}
