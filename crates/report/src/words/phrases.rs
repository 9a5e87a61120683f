//! What only the program says: the pages of sight marks, the card to print and the rehearsal. The app carries none of it.

phrases! {
    /// A sentence, or a word of a table or drawing.
    Phrase:

    // Usual values.
    UsualTitle: "What is usual", "Was üblich ist", "Ce qui est d’ordinaire";
    UsualArgued: "Spread that an archer without history starts from, one standard deviation an axis. These numbers are argued, no source: a club whose archers agree can make its own.", "Streuung, mit der ein Schütze ohne Vorgeschichte beginnt, eine Standardabweichung je Achse. Diese Zahlen sind begründet, ohne Quelle: ein Verein, dessen Schützen einverstanden sind, kann eigene machen.", "Dispersion de départ d’un archer sans historique, un écart type par axe. Ces nombres sont raisonnés, sans source : un club dont les archers sont d’accord peut faire les siens.";
    UsualMake: "goldward usual --log goldward.db --out usual.json makes a club's own, from archers who agree.", "goldward usual --log goldward.db --out usual.json macht die eines Vereins, aus Schützen, die einverstanden sind.", "goldward usual --log goldward.db --out usual.json fait ceux d’un club, d’après les archers qui sont d’accord.";
    UsualOf: "What is usual in the club, {0}", "Was im Verein üblich ist, {0}", "Ce qui est d’ordinaire au club, {0}";
    UsualNone: "No kind of bow, level and distance has archers enough who agree: {0} at least, and some more, so that the number cannot be made out.", "Keine Bogenart, Stufe und Entfernung hat genug Schützen, die einverstanden sind: mindestens {0}, und einige mehr, damit die Zahl nicht zu erkennen ist.", "Aucun type d’arc, niveau et distance n’a assez d’archers d’accord : {0} au moins, et quelques-uns de plus, pour que le nombre reste caché.";
    UsualAgree: "An archer agrees under \"Archers\" in the app, and tells bow and level in the kit. Whoever is under age is never counted.", "Ein Schütze ist unter „Schützen“ in der App einverstanden und nennt Bogen und Stufe beim Material. Wer minderjährig ist, wird nie gezählt.", "Un archer donne son accord sous « Archers » dans l’application, et indique arc et niveau dans le matériel. Un mineur n’est jamais compté.";
    UsualWho: "who", "wer", "qui";
    UsualArchers: "archers, about", "Schützen, etwa", "archers, environ";
    UsualSpread: "spread", "Streuung", "dispersion";
    UsualMost: "two in three", "zwei von drei", "deux sur trois";
    UsualAstray: "goes astray", "geht daneben", "s’égare";
    UsualEnds: "wind of ends, times", "Wind der Passen, mal", "vent des volées, fois";
    UsualFromTo: "{0} to {1}", "{0} bis {1}", "{0} à {1}";
    UsualOneIn: "one in {0}", "einer von {0}", "une sur {0}";
    UsualShort: "up to 27 m", "bis 27 m", "jusqu’à 27 m";
    UsualMiddle: "up to 55 m", "bis 55 m", "jusqu’à 55 m";
    UsualLong: "beyond 55 m", "über 55 m", "au-delà de 55 m";
    UsualPrivate: "From {0} archers and more each, numbers only and blurred: nobody can tell from them whether an archer was counted. Each document blurs anew, so two tell more than one: make one a season.", "Aus je {0} Schützen und mehr, nur Zahlen und verwischt: niemand kann daraus erkennen, ob jemand mitgezählt wurde. Jedes Dokument wird neu verwischt, zwei sagen also mehr als eines: eines je Saison genügt.", "De {0} archers et plus chacun, des nombres seuls et brouillés : nul ne peut en tirer si un archer a été compté. Chaque document est brouillé à neuf, deux en disent donc plus qu’un : un par saison suffit.";
    UsualBudget: "Differential privacy with epsilon {0} for each archer, and a chance of one in {1} that a smallest group is told.", "Differential Privacy mit Epsilon {0} je Schütze, und einer Wahrscheinlichkeit von eins zu {1}, dass eine kleinste Gruppe genannt wird.", "Confidentialité différentielle d’epsilon {0} par archer, et une probabilité d’un sur {1} qu’un plus petit groupe soit dit.";
    // Sight marks.
    MarksTitle: "Sight marks", "Visiermarken", "Repères de visée";
    MarksTitleOf: "Sight marks: {0}", "Visiermarken: {0}", "Repères de visée : {0}";
    MarksCaution: "Safety: shoot a new or predicted mark first at a close, safe distance with a clear overshoot area, and step out from there. The range captain and the national rules come first.", "Sicherheit: eine neue oder vorhergesagte Marke zuerst auf eine nahe, sichere Entfernung mit freiem Raum hinter dem Ziel schießen und von dort schrittweise zurückgehen. Schießleitung und nationale Regeln gehen vor.", "Sécurité : tirez d’abord un repère nouveau ou prédit à une distance courte et sûre, avec une zone libre derrière la cible, puis reculez pas à pas. Le directeur de tir et les règles nationales priment.";
    MarkAdded: "Added {0} at {1} ({2}) to {3}, which now has {4} {4|mark|marks}.", "{0} bei {1} ({2}) in {3} aufgenommen; dort {4|steht|stehen} jetzt {4} {4|Marke|Marken}.", "{0} à {1} ({2}) ajouté à {3}, qui a maintenant {4} {4/repère/repères}.";
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
    // The card to print.
    CardFunnel: "How far off may the first arrow be? 8 times in 10 within the band: cm on the face, up or down.", "Wie weit darf der erste Pfeil danebenliegen? In 8 von 10 Malen im Band: cm auf der Auflage, hoch oder tief.", "De combien la première flèche peut-elle s’écarter ? 8 fois sur 10 dans la bande : cm sur le blason, haut ou bas.";
    CardStrip: "Cut along the dashes. Lay its left edge to the scale, equal numbers together, or set the pin to a mark you shot and lay that wedge to the pointer. Wedge: shot. Line: predicted. Broken line: beyond your marks. Bar: 80 %.", "Längs der Striche ausschneiden. Die linke Kante an die Skala legen, gleiche Zahlen zusammen, oder das Korn auf eine geschossene Marke stellen und deren Keil an den Zeiger legen. Keil: geschossen. Linie: vorhergesagt. Gestrichelt: jenseits deiner Marken. Balken: 80 %.", "Découpez selon les tirets. Posez le bord gauche sur l’échelle, nombres égaux ensemble, ou réglez le viseur sur un repère tiré et posez ce coin sur l’index. Coin : tiré. Trait : prédit. Tirets : au-delà de vos repères. Barre : 80 %.";
    CardShot: "shot", "geschossen", "tiré";
    CardBetween: "predicted between shots", "vorhergesagt, dazwischen", "prédit entre les tirs";
    CardBeyond: "predicted beyond them", "vorhergesagt, jenseits", "prédit au-delà";
    CardMarks: "{0} marks, of which {1} were shot: {2}. {3}", "{0} Marken, davon {1} geschossen: {2}. {3}", "{0} repères, dont {1} tirés : {2}. {3}";
    CardFrom: "from {0} {0|mark|marks} shot{1}; arrow {2} g, {3} mm; launch {4} ± {5} m/s", "aus {0} {0|geschossenen Marke|geschossenen Marken}{1}; Pfeil {2} g, {3} mm; Abgang {4} ± {5} m/s", "de {0} {0/repère tiré/repères tirés}{1} ; flèche {2} g, {3} mm ; départ {4} ± {5} m/s";
    CardLatest: "; latest {0}", "; zuletzt {0}", " ; dernier {0}";
    CardBow: "eye to pin {0} mm, eye {1} mm above the arrow; {2}", "Auge bis Korn {0} mm, Auge {1} mm über dem Pfeil; {2}", "œil au guidon {0} mm, œil {1} mm au-dessus de la flèche ; {2}";
    CardUnit: "1 on the scale is {0} mm", "1 auf der Skala ist {0} mm", "1 sur l’échelle vaut {0} mm";
    CardInMm: "the scale is in millimetres", "die Skala ist in Millimetern", "l’échelle est en millimètres";
    CardRuler: "From end to end this ruler is 50 mm. If yours is not, print again at 100 % (actual size).", "Von Ende zu Ende misst dieses Lineal 50 mm. Misst deines anders, noch einmal mit 100 % (Originalgröße) drucken.", "D’un bout à l’autre cette règle fait 50 mm. Sinon, imprimez de nouveau à 100 % (taille réelle).";
    CardSafety: "Safety", "Sicherheit", "Sécurité";
    CardGuess: "A mark that you have not shot is a guess: {0}", "Eine Marke, die du nicht geschossen hast, ist geraten: {0}", "Un repère que vous n’avez pas tiré est une supposition : {0}";
    CardDrawn: "Drawn into {0}: {1} marks shot, {2} predicted, {3} of these beyond your marks.\nPrint it at 100 % (actual size) and check the 50 mm ruler before you cut.\n", "In {0} gezeichnet: {1} Marken geschossen, {2} vorhergesagt, {3} davon jenseits deiner Marken.\nMit 100 % (Originalgröße) drucken und vor dem Schneiden das Lineal von 50 mm prüfen.\n", "Dessiné dans {0} : {1} repères tirés, {2} prédits, dont {3} au-delà de vos repères.\nImprimez à 100 % (taille réelle) et vérifiez la règle de 50 mm avant de couper.\n";
    DrawnInto: "Drawn into {0}", "In {0} gezeichnet", "Dessiné dans {0}";
    // The rehearsal.
    PaceTitle: "When to touch the sight", "Wann das Visier stellen", "Quand régler le viseur";
    PaceFirstTitle: "How many arrows before the first touch?", "Wie viele Pfeile vor dem ersten Stellen?", "Combien de flèches avant le premier réglage ?";
    PaceFirstLegend: "Goldward when a touch must pay and every arrow counts: the median, and from when to when in 80 % of simulated rounds; “leave it” where most rounds never touch. In sighting ends waiting costs nothing: touch towards their end. The rules of thumb say one, three or six arrows whatever the spread and the mark.", "Goldward, wenn sich Stellen lohnen muss und jeder Pfeil zählt: der Median, und von wann bis wann in 80 % der simulierten Runden; „lassen“, wo die meisten Runden nie stellen. In Probepassen kostet Warten nichts: gegen ihr Ende stellen. Die Faustregeln sagen einen, drei oder sechs Pfeile, wie auch Streuung und Marke sind.", "Goldward quand un réglage doit payer et que chaque flèche compte : la médiane, et de quand à quand dans 80 % des séries simulées ; « laisser » où la plupart ne règlent jamais. Aux volées d’essai, attendre ne coûte rien : réglez vers leur fin. Les règles simples disent une, trois ou six flèches, quels que soient la dispersion et le repère.";
    PaceUnknown: "unknown mark", "unbekannte Marke", "repère inconnu";
    PacePredicted: "predicted mark", "vorhergesagte Marke", "repère prédit";
    PaceVerified: "verified today", "heute geprüft", "vérifié aujourd’hui";
    PaceLeave: "leave it ({0})", "lassen ({0})", "laisser ({0})";
    PaceFromTo: "{0} ({1} to {2})", "{0} ({1} bis {2})", "{0} ({1} à {2})";
    PaceToNever: "{0} ({1} to never)", "{0} ({1} bis nie)", "{0} ({1} à jamais)";
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
    FourLegend: "Under the distances stands what each gives away there against one who always knows the centre. The pin’s windage error is the same at every distance; each mark's elevation is new.", "Unter den Entfernungen steht, was dort gegen den verschenkt wird, der die Mitte immer kennt. Der Seitenfehler des Korns ist auf jeder Entfernung derselbe; die Höhe jeder Marke ist neu.", "Sous les distances : ce que chacun y cède à qui connaît toujours le centre. L’erreur latérale du guidon est la même à toute distance ; la hauteur de chaque repère est nouvelle.";
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
        let texts = Phrase::ALL.iter().map(|p| Language::ALL.map(|l| p.text(l)));
        let lines = |text: &str| text.lines().count();
        let texts = texts.chain(crate::words::Wrong::ALL.iter().map(|w| Language::ALL.map(|l| w.text(l))));
        for [en, de, fr] in texts.chain(crate::words::Done::ALL.iter().map(|d| Language::ALL.map(|l| d.text(l)))) {
            assert!(!de.is_empty() && !fr.is_empty(), "{en}");
            assert_eq!((gaps(de), gaps(fr)), (gaps(en), gaps(en)), "{en}");
            assert_eq!((lines(de), lines(fr)), (lines(en), lines(en)), "{en}");
        }
        assert_eq!(Phrase::CardLatest.with(Language::German, &["2026-05-03"]), "; zuletzt 2026-05-03");
    }
}
