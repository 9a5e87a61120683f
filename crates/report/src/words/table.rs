//! The table itself.

use super::catalogue;

macro_rules! table {
    ($($name:ident: $en:literal, $de:literal, $fr:literal;)*) => {
        /// A word or sentence of the app.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[allow(missing_docs, reason = "each is documented by its English text")]
        pub enum Word { $($name),* }

        impl Word {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$name),*];

            /// The text in `language`; the English one where that language is neither built in nor taken in
            /// ([`take_in`](super::take_in)).
            #[must_use]
            pub fn text(self, language: super::Language) -> &'static str {
                catalogue::column(language)[self as usize]
            }
        }

        /// The texts that are built in, a line for each word: a single text a language is much smaller than one a word.
        pub(super) const BUILT_IN: [Option<&str>; 3] = [
            Some(concat!($($en, "\n"),*)),
            if cfg!(feature = "languages") { Some(concat!($($de, "\n"),*)) } else { None },
            if cfg!(feature = "languages") { Some(concat!($($fr, "\n"),*)) } else { None },
        ];
    };
}

table! {
    // Places of the app.
    Shoot: "Shoot", "Schießen", "Tirer";
    Marks: "Marks", "Marken", "Repères";
    Progress: "Progress", "Verlauf", "Progrès";
    Pacing: "Pacing", "Probelauf", "Rythme";
    Kit: "Kit", "Material", "Matériel";
    Archers: "Archers", "Schützen", "Archers";
    Settings: "Settings", "Einstellungen", "Réglages";
    Explain: "What it says", "Was es heißt", "Ce que cela dit";
    Report: "Report", "Bericht", "Rapport";
    Back: "Back", "Zurück", "Retour";
    Close: "Close", "Schließen", "Fermer";
    Cancel: "Cancel", "Abbrechen", "Annuler";
    Save: "Save", "Speichern", "Enregistrer";
    Delete: "Delete", "Löschen", "Supprimer";
    Edit: "Change", "Ändern", "Modifier";
    Add: "Add", "Hinzufügen", "Ajouter";
    More: "More", "Mehr", "Plus";
    Print: "Print or save as PDF", "Drucken oder als PDF sichern", "Imprimer ou enregistrer en PDF";
    MainMenu: "Parts of the app", "Teile der App", "Parties de l’application";
    SkipToMain: "To the content", "Zum Inhalt", "Au contenu";

    // Should the app break.
    BrokeTitle: "Goldward has stopped: a fault of the app, not yours.", "Goldward ist stehen geblieben: ein Fehler der App, nicht deiner.", "Goldward s’est arrêté : une faute de l’app, pas la vôtre.";
    BrokeKept: "Everything that was saved is still here.", "Alles, was gesichert war, ist noch da.", "Tout ce qui était enregistré est encore là.";
    BrokeAgain: "Start again", "Neu starten", "Redémarrer";
    BrokeExport: "Export the log as a file", "Das Protokoll als Datei exportieren", "Exporter le journal en fichier";
    BrokeTold: "What happened, for those who mend it:", "Was geschah, für die, die es beheben:", "Ce qui s’est passé, pour qui le répare :";

    // Starting a session.
    StartTitle: "New session", "Neue Einheit", "Nouvelle séance";
    ChangeSession: "Change this session", "Diese Einheit ändern", "Modifier cette séance";
    DeleteSession: "Delete this session", "Diese Einheit löschen", "Supprimer cette séance";
    DeleteSessionAsk: "Delete this session with all that was shot in it (arrows: {0})?", "Diese Einheit mit allem löschen, was darin geschossen wurde (Pfeile: {0})?", "Supprimer cette séance et tout ce qui y a été tiré (flèches : {0}) ?";
    Deleted: "Deleted.", "Gelöscht.", "Supprimé.";
    Changed: "Changed.", "Geändert.", "Modifié.";
    Bow: "Bow", "Bogen", "Arc";
    BowOther: "recurve, barebow, longbow", "Recurve, Blank- oder Langbogen", "classique, nu ou longbow";
    BowCompound: "compound", "Compound", "à poulies";
    PointsArrows: "{0} points, arrows: {1}", "{0} Punkte, Pfeile: {1}", "{0} points, flèches : {1}";
    Start: "Start shooting", "Losschießen", "Commencer";
    Distance: "Distance", "Entfernung", "Distance";
    Face: "Face", "Auflage", "Blason";
    Plan: "What is shot", "Was geschossen wird", "Ce qu’on tire";
    FreePractice: "Free practice", "Freies Training", "Entraînement libre";
    Round: "Round", "Runde", "Série";
    SightingEnds: "Sighting ends", "Probepassen", "Volées d’essai";
    Ends: "Ends that count", "Passen, die zählen", "Volées comptées";
    ArrowsPerEnd: "Arrows an end", "Pfeile je Passe", "Flèches par volée";
    SettingIs: "The sight setting is", "Die Visierstellung ist", "Le réglage du viseur est";
    TrustUnknown: "new, never shot", "neu, nie geschossen", "nouveau, jamais tiré";
    TrustPredicted: "an older or predicted mark", "eine ältere oder vorhergesagte Marke", "un repère ancien ou prévu";
    TrustVerified: "shot and found good today", "heute geschossen und gut", "tiré et vérifié aujourd’hui";
    PriorTitle: "Spread to begin with", "Streuung zu Beginn", "Dispersion de départ";
    PriorLearnt: "what you shot: {0}; sessions: {1}, arrows: {2}; worth {3} {3|arrow|arrows}", "was du geschossen hast: {0}; Einheiten: {1}, Pfeile: {2}; {3} {3|Pfeil|Pfeile} wert", "ce que vous avez tiré : {0} ; séances : {1}, flèches : {2} ; valant {3} {3/flèche/flèches}";
    PriorKit: "the kit’s number: {0}, worth {1} {1|arrow|arrows}", "die Zahl des Materials: {0}, {1} {1|Pfeil|Pfeile} wert", "le chiffre du matériel : {0}, valant {1} {1/flèche/flèches}";
    PriorNone: "{0}, worth {1} {1|arrow|arrows}; your own shots at this distance will take its place.", "{0}, {1} {1|Pfeil|Pfeile} wert; eigene Schüsse auf diese Entfernung treten an die Stelle.", "{0}, valant {1} {1/flèche/flèches} ; vos tirs à cette distance la remplaceront.";
    ReadingNow: "Reading of the sight now (up/down)", "Ablesung am Visier jetzt (Höhe)", "Lecture du viseur (hauteur)";
    Optional: "may be left empty", "darf leer bleiben", "facultatif";
    OpenSessions: "Earlier sessions", "Frühere Einheiten", "Séances précédentes";
    NoSessions: "Nothing has been shot yet.", "Es wurde noch nichts geschossen.", "Rien n’a encore été tiré.";
    SessionOver: "This session is finished.", "Diese Einheit ist beendet.", "Cette séance est terminée.";

    WhoShoots: "Who is shooting?", "Wer schießt?", "Qui tire ?";
    TryDemo: "Try it with an invented archer", "Mit einem erfundenen Schützen ausprobieren", "Essayer avec un archer inventé";
    RestOfForm: "Face, ends, setting", "Auflage, Passen, Einstellung", "Blason, volées, réglage";
    RoundNamed: "{0}, {1} arrows ({2} × {3}), {4}", "{0}, {1} Pfeile ({2} × {3}), {4}", "{0}, {1} flèches ({2} × {3}), {4}";
    RoundsIndoors: "Indoors", "Halle", "En salle";
    RoundsOutdoors: "Outdoors", "Im Freien", "En extérieur";
    RoundsOwn: "My rounds", "Meine Runden", "Mes séries";
    RoundAsSet: "as set below", "wie unten eingestellt", "comme réglé plus bas";
    RoundsFrom: "Written down from memory of the rule book ({0}); the rules of the day decide.", "Aus dem Gedächtnis nach dem Regelwerk ({0}); es gelten die Regeln des Tages.", "Noté de mémoire d’après le règlement ({0}) ; le règlement du jour décide.";
    RoundsOneOfFour: "One distance of a round of four ({0}).", "Eine Entfernung einer Runde mit vieren ({0}).", "Une distance d’une série à quatre ({0}).";
    RoundsPractice: "Common practice, without a source.", "Üblich, ohne Quelle.", "Usage courant, sans source.";
    RoundKeep: "Keep this as a round of mine", "Als meine Runde behalten", "Garder comme ma série";
    RoundDrop: "Forget this round of mine", "Diese meine Runde vergessen", "Oublier cette série";
    Assumed: "Assumed; tap to set:", "Angenommen; zum Einstellen tippen:", "Supposé ; touchez pour régler :";
    AssumedEye: "eye to pin {0}", "Auge bis Korn {0}", "œil au guidon {0}";
    AssumedClick: "a click {0}", "ein Klick {0}", "un clic {0}";
    AssumedToCome: "{0} {0|arrow|arrows} to come", "noch {0} {0|Pfeil|Pfeile}", "{0} {0/flèche/flèches} à venir";
    TenClicks: "Ten clicks move the pin by", "Zehn Klicks bewegen das Korn um", "Dix clics déplacent le guidon de";
    HowToMeasure: "How to measure", "So wird gemessen", "Comment mesurer";
    MeasureEye: "On the line, with an arrow on the string, have a photo taken from the side at full draw; the arrow’s length is the ruler. Never loose without an arrow, never draw towards anybody.", "An der Schießlinie, mit Pfeil auf der Sehne, im Vollauszug von der Seite fotografieren lassen; die Länge des Pfeils ist der Maßstab. Nie ohne Pfeil lösen, nie auf jemanden ziehen.", "Sur la ligne, flèche encochée, faites prendre une photo de côté à pleine allonge ; la longueur de la flèche sert de règle. Ne jamais lâcher sans flèche, ne jamais viser quelqu’un.";
    MeasureClicks: "With the bow set down: note where the pin is, turn ten clicks, and measure how far it went.", "Bogen abgelegt: merken, wo das Korn steht, zehn Klicks drehen und messen, wie weit es ging.", "Arc posé : notez où est le guidon, tournez de dix clics et mesurez le chemin.";
    EndClock: "End clock", "Passenuhr", "Chrono";
    ClockStepUp: "To the line", "An die Linie", "Sur la ligne";
    ClockShoot: "Shoot", "Schießen", "Tirez";
    ClockOver: "Time is over", "Die Zeit ist um", "Temps écoulé";
    ClockDefers: "The field’s own signals come first.", "Die Signale des Platzes gehen vor.", "Les signaux du terrain priment.";
    ClockCollect: "Collect only on the signal.", "Pfeile erst auf Signal holen.", "Récupérez les flèches au signal.";
    ClockStop: "Stop the clock", "Uhr anhalten", "Arrêter le chrono";

    // Shooting.
    Plot: "Point", "Zeigen", "Pointer";
    Call: "Call", "Ansagen", "Annoncer";
    Score: "Score", "Ergebnis", "Score";
    FaceHelp: "Target face. Press where the arrow is, slide to refine, let go. With the keyboard: arrow keys move the cross, Enter sets the shot.",
        "Zielscheibe. Dort drücken, wo der Pfeil steckt, zum Verfeinern schieben, loslassen. Mit der Tastatur: Pfeiltasten bewegen das Kreuz, Eingabe setzt den Schuss.",
        "Blason. Appuyer là où se trouve la flèche, glisser pour affiner, relâcher. Au clavier : les flèches déplacent la croix, Entrée place le tir.";
    PressFace: "Press where the arrow is; slide to refine.", "Drücken, wo der Pfeil steckt; schieben zum Verfeinern.", "Appuyez sur la flèche ; glissez pour affiner.";
    WhichRing: "Which ring?", "Welcher Ring?", "Quel anneau ?";
    WhichClock: "Which way, as on a clock?", "Welche Richtung, wie auf der Uhr?", "Quelle direction, comme sur l’horloge ?";
    RingOnly: "ring only", "nur Ring", "anneau seul";
    Miss: "Miss", "Fehlschuss", "Manqué";
    Undo: "Undo", "Zurücknehmen", "Défaire";
    Redo: "Redo", "Wiederholen", "Refaire";
    FeltGood: "Felt good", "Gut gefühlt", "Senti bon";
    FeltBad: "Felt bad", "Schlecht gefühlt", "Senti mauvais";
    ArrowNumber: "Arrow no.", "Pfeil Nr.", "Flèche nº";
    MoveShotHelp: "Tap where shot {0} belongs.", "Tippen, wohin Schuss {0} gehört.", "Touchez la vraie place du tir {0}.";
    Spot: "Spot", "Spiegel", "Spot";
    ShotN: "Shot {0}", "Schuss {0}", "Tir {0}";
    EndN: "End {0}", "Passe {0}", "Volée {0}";
    SightingEndN: "Sighting end {0}", "Probepasse {0}", "Volée d’essai {0}";
    EndOver: "End is over", "Passe beendet", "Volée finie";
    Total: "Total", "Gesamt", "Total";
    Zoom: "Zoom", "Vergrößern", "Agrandir";
    Saved: "Saved", "Gesichert", "Enregistré";
    Saving: "Saving …", "Wird gesichert …", "Enregistrement …";
    SavedForNow: "Saved for now", "Vorerst gesichert", "Gardé pour l’instant";
    KeepsNothing: "this browser window keeps no data; export before closing it", "dieses Fenster behält keine Daten; vor dem Schließen exportieren", "cette fenêtre ne garde rien ; exportez avant de la fermer";
    ForgetsInAWeek: "This browser deletes what the app has stored when you do not open it for seven days. Put the app on the home screen, sync with a server, or export a file.", "Dieser Browser löscht, was die App gespeichert hat, wenn du sie sieben Tage nicht öffnest. Leg die App auf den Startbildschirm, gleiche mit einem Server ab oder exportiere eine Datei.", "Ce navigateur efface ce que l’app a enregistré si vous ne l’ouvrez pas pendant sept jours. Mettez l’app sur l’écran d’accueil, synchronisez avec un serveur ou exportez un fichier.";
    WhereItIsSafe: "Where it is safe", "Wo es sicher ist", "Où c’est en sûreté";
    ShotBefore: "Pale: shot before the sight was moved. The ellipse shows where the group belongs now.", "Blass: vor dem Stellen geschossen. Die Ellipse zeigt, wohin die Gruppe jetzt gehört.", "Pâle : tiré avant le réglage. L’ellipse montre où le groupe doit être maintenant.";
    ThatWasASwipe: "No arrow set: press, slide slowly to refine, let go.", "Kein Pfeil gesetzt: drücken, langsam schieben, loslassen.", "Aucune flèche notée : appuyez, glissez lentement, relâchez.";
    AnotherHere: "Another arrow here", "Noch ein Pfeil hier", "Encore une flèche ici";
    NotSaved: "NOT saved: {0}", "NICHT gesichert: {0}", "NON enregistré : {0}";
    ShotsOf: "{0} of {1}", "{0} von {1}", "{0} sur {1}";

    // The answer.
    TouchNow: "Move the sight: {0}", "Visier stellen: {0}", "Régler le viseur : {0}";
    WaitNow: "Wait: shoot on before you touch the sight", "Warten: erst weiterschießen, dann stellen", "Attendre : tirez encore avant de régler";
    LeaveIt: "Leave the sight as it is", "Visier so lassen", "Laisser le viseur tel quel";
    NoShotsYet: "Shoot; the advice comes with the first arrow.", "Schießen; der Rat kommt mit dem ersten Pfeil.", "Tirez ; le conseil vient avec la première flèche.";
    NewReading: "new reading {0}", "neue Ablesung {0}", "nouvelle lecture {0}";
    SetTo: "Set it to {0}", "Auf {0} stellen", "Le mettre à {0}";
    Worth: "Worth {0} points over {1} {1|arrow|arrows} to come ({2} to {3}).", "Bringt {0} Punkte auf {1} {1|kommenden Pfeil|kommende Pfeile} ({2} bis {3}).", "Vaut {0} points sur {1} {1/flèche/flèches} à venir ({2} à {3}).";
    WorthLeave: "The best move would bring only {0} points over {1} {1|arrow|arrows}.", "Die beste Verstellung brächte nur {0} Punkte auf {1} {1|Pfeil|Pfeile}.", "Le meilleur réglage ne rapporterait que {0} points sur {1} {1/flèche/flèches}.";
    WorthLater: "No touch is worth making now; looking again after {0} more {0|arrow|arrows} is worth about {1} points.", "Jetzt lohnt kein Stellen; nach {0} {0|weiteren Pfeil|weiteren Pfeilen} wieder nachzusehen bringt etwa {1} Punkte.", "Aucun réglage ne vaut la peine maintenant ; regarder à nouveau après {0} {0/flèche/flèches} de plus rapporte environ {1} points.";
    WorthWait: "Touching after {1} more {1|arrow|arrows} gains {2} points on touching now ({0}).", "Nach {1} {1|weiteren Pfeil|weiteren Pfeilen} stellen bringt {2} Punkte gegenüber jetzt ({0}).", "Régler après {1} {1/flèche/flèches} de plus gagne {2} points sur un réglage immédiat ({0}).";
    WhyNoShots: "No shots are left at this distance.", "Auf diese Entfernung sind keine Pfeile mehr übrig.", "Il ne reste pas de flèches à cette distance.";
    WhyWithin: "The sight is within half a click of the best that is known.", "Das Visier steht auf einen halben Klick genau.", "Le viseur est à un demi-clic du meilleur connu.";
    WhyNoTime: "There is no time for a touch in this end: shoot on and touch after it.", "In dieser Passe ist keine Zeit zum Stellen: weiterschießen und danach stellen.", "Pas le temps de régler dans cette volée : tirez et réglez après.";
    WhyMore: "More arrows may show a touch worth making.", "Mehr Pfeile können zeigen, ob Stellen lohnt.", "D’autres flèches montreront si un réglage vaut la peine.";
    WhyLess: "A touch would gain less than it costs, and waiting will not make it much better.", "Stellen brächte weniger, als es kostet, und Warten macht es kaum besser.", "Régler rapporterait moins que cela ne coûte, et attendre n’y changera guère.";
    WhyNow: "Waiting would cost more than the next arrows can teach.", "Warten kostet mehr, als die nächsten Pfeile lehren.", "Attendre coûterait plus que les prochaines flèches n’apprennent.";
    WhyTeach: "The next arrows teach more than they cost: one touch later serves better than two.", "Die nächsten Pfeile lehren mehr, als sie kosten: einmal später stellen ist besser als zweimal.", "Les prochaines flèches apprennent plus qu’elles ne coûtent : un réglage plus tard vaut mieux que deux.";
    WhyOnlyMisses: "Every arrow missed: find the arrows first, then shoot close, with a clear overshoot area. No number of clicks follows from misses.", "Alle Pfeile daneben: erst die Pfeile finden, dann aus der Nähe schießen, mit freiem Raum hinter der Scheibe. Aus Fehlschüssen folgt keine Zahl von Klicks.", "Toutes les flèches sont à côté : retrouvez-les d'abord, puis tirez de près, avec une zone libre derrière la cible. Aucun nombre de clics ne découle de flèches manquées.";
    WhyNoSide: "Rings alone do not tell to which side: call the clock as well, or mark where the arrows are.", "Ringe allein sagen nicht, zu welcher Seite: auch die Uhr ansagen oder zeigen, wo die Pfeile stecken.", "Les zones seules ne disent pas de quel côté : annoncez aussi l'heure, ou marquez où sont les flèches.";
    WhyOnlyBad: "Every shot felt bad: they speak of the shots, not of the sight.", "Jeder Schuss fühlte sich schlecht an: sie sprechen von den Schüssen, nicht vom Visier.", "Toutes les flèches ont semblé mauvaises : elles parlent des tirs, pas du viseur.";
    WhyLessShort: "A touch would gain less than it costs.", "Stellen brächte weniger, als es kostet.", "Régler rapporterait moins que cela ne coûte.";
    DoneTouch: "I have done that", "Habe ich gestellt", "C’est réglé";
    SightNow: "The sight reads {0}: tell of a move", "Das Visier steht auf {0}: Verstellung eintragen", "Le viseur lit {0} : noter un réglage";
    ElevationReads: "Or: up/down it reads now", "Oder: Höhe steht jetzt auf", "Ou : la hauteur lit maintenant";
    WindageReads: "Or: left/right it reads now", "Oder: Seite steht jetzt auf", "Ou : la latérale lit maintenant";
    KeepMark: "Keep {0} as the mark of {1}", "{0} als Marke für {1} behalten", "Garder {0} comme repère à {1}";
    MarkKept: "Kept as the mark of {0}", "Als Marke für {0} behalten", "Gardé comme repère à {0}";
    FinishPoints: "{0} of {1} points", "{0} von {1} Punkten", "{0} points sur {1}";
    FinishAverage: "{0} an arrow, X: {1}", "{0} je Pfeil, X: {1}", "{0} par flèche, X : {1}";
    FinishSight: "Where the sight stood has cost about {0} of them.", "Wo das Visier stand, hat etwa {0} davon gekostet.", "La position du viseur en a coûté environ {0}.";
    FinishBest: "Your best so far: {0}.", "Dein bestes bisher: {0}.", "Votre meilleur jusqu’ici : {0}.";
    FinishNewBest: "Your best so far; before it was {0}.", "Dein bestes bisher; davor {0}.", "Votre meilleur jusqu’ici ; avant : {0}.";
    OtherTouch: "Other clicks", "Andere Klicks", "Autres clics";
    TouchTitle: "What did you really turn?", "Was wurde wirklich gestellt?", "Qu’avez-vous réglé en vrai ?";
    RecordTouch: "Record: {0}", "Eintragen: {0}", "Noter : {0}";
    Up: "up", "hoch", "haut";
    Down: "down", "runter", "bas";
    Left: "left", "links", "gauche";
    Right: "right", "rechts", "droite";
    OneClick: "{0} click {1}", "{0} Klick {1}", "{0} clic {1}";
    ManyClicks: "{0} clicks {1}", "{0} Klicks {1}", "{0} clics {1}";
    NoClicks: "no clicks", "keine Klicks", "aucun clic";
    High: "high", "hoch", "haut";
    Low: "low", "tief", "bas";
    InTheMiddle: "in the middle", "in der Mitte", "au milieu";
    Touched: "Sight moved {0}", "Visier gestellt: {0}", "Viseur réglé : {0}";

    // Shots by class, the picture.
    Clean: "clean", "sauber", "propre";
    Flyer: "flyer: counts little", "Ausreißer: zählt wenig", "écart : compte peu";
    Stray: "stray: hardly counts", "Irrläufer: zählt kaum", "égarée : ne compte guère";
    OtherGroup: "second group", "zweite Gruppe", "second groupe";
    CentreMark: "centre of the group", "Mitte der Gruppe", "centre du groupe";
    EllipseMark: "where the true centre is, 4 times in 5", "wo die wahre Mitte liegt, 4 von 5 Malen", "où est le vrai centre, 4 fois sur 5";
    MoveMark: "what the move does", "was die Verstellung bewirkt", "ce que fait le réglage";

    // Patterns and causes.
    PatternSteady: "one steady group", "eine ruhige Gruppe", "un groupe stable";
    PatternSplit: "two groups that take turns", "zwei Gruppen im Wechsel", "deux groupes qui alternent";
    PatternDrifting: "a group that wanders as you shoot", "eine Gruppe, die beim Schießen wandert", "un groupe qui se déplace peu à peu";
    PatternJumped: "a group that moved once", "eine Gruppe, die einmal gesprungen ist", "un groupe qui a bougé une fois";
    PatternIs: "Most likely: {0} ({1}).", "Am wahrscheinlichsten: {0} ({1}).", "Le plus probable : {0} ({1}).";
    PatternElse: "Else: {0}.", "Sonst: {0}.", "Sinon : {0}.";
    FirstGroup: "first group", "erste Gruppe", "premier groupe";
    BeforeTheJump: "before the jump", "vor dem Sprung", "avant le saut";
    CausesTitle: "Things that could be behind it", "Was dahinter stecken könnte", "Ce qui pourrait en être la cause";
    CausesNote: "These are possibilities to look at, not verdicts. One at a time, a friend watching.", "Das sind Möglichkeiten zum Nachsehen, keine Urteile. Eine nach der anderen, jemand schaut zu.", "Ce sont des possibilités à vérifier, pas des verdicts. Une à la fois, sous l’œil d’un ami.";
    CauseReleaseLeft: "The string hand may swing out at the release, or the bow hand may tighten: both can send arrows to the left.", "Die Zughand könnte beim Lösen ausschwenken oder die Bogenhand zupacken: beides kann Pfeile nach links schicken.", "La main de corde s’écarte peut-être à la décoche, ou la main d’arc se crispe : les deux peuvent envoyer à gauche.";
    CauseReleaseRight: "The string hand may swing out at the release, or the bow hand may tighten: both can send arrows to the right.", "Die Zughand könnte beim Lösen ausschwenken oder die Bogenhand zupacken: beides kann Pfeile nach rechts schicken.", "La main de corde s’écarte peut-être à la décoche, ou la main d’arc se crispe : les deux peuvent envoyer à droite.";
    CauseAlignment: "The line of shoulders and string may have shifted: look at stance and string picture.", "Die Linie von Schultern und Sehne könnte verschoben sein: Stand und Sehnenschatten ansehen.", "L’alignement épaules-corde a pu changer : regardez l’appui et la vision de la corde.";
    CauseWindSide: "A side wind may be carrying the arrows; does it suit the flags?", "Seitenwind könnte die Pfeile tragen; passt das zu den Fahnen?", "Un vent de côté porte peut-être les flèches ; est-ce que les drapeaux le disent ?";
    CauseAnchorHigh: "The anchor may be low or the head back, the bow hand may push high, or the draw may be longer: all can go high.", "Der Anker könnte tief sitzen oder der Kopf zurück sein, die Bogenhand hoch drücken oder der Auszug länger sein: alles kann hoch gehen.", "L’ancrage est peut-être bas ou la tête en arrière, la main d’arc pousse haut, ou l’allonge est plus longue : tout cela peut monter.";
    CauseAnchorLow: "The draw may be shorter, the bow arm may drop at the release, or the anchor may sit high: all can go low.", "Der Auszug könnte kürzer sein, der Bogenarm beim Lösen fallen oder der Anker hoch sitzen: alles kann tief gehen.", "L’allonge est peut-être plus courte, le bras d’arc tombe à la décoche, ou l’ancrage est haut : tout cela peut descendre.";
    CauseNocking: "The nocking point or the rest may have slipped: check both with a square.", "Nockpunkt oder Auflage könnten verrutscht sein: beides mit dem Checker prüfen.", "Le point d’encochage ou le repose-flèche a pu glisser : vérifiez à l’équerre.";
    CauseTwoArrows: "Two kinds of arrow, nock or fletching in one quiver? Number them and see which group each joins.", "Zwei Arten Pfeile, Nocken oder Federn im Köcher? Nummerieren und sehen, welche Gruppe welcher Pfeil trifft.", "Deux sortes de flèches, d’encoches ou de plumes dans le carquois ? Numérotez-les et voyez qui va où.";
    CauseTwoAnchors: "Two anchors or two ways of releasing that take turns?", "Zwei Anker oder zwei Arten zu lösen, die sich abwechseln?", "Deux ancrages ou deux décoches qui alternent ?";
    CauseTiring: "Tiring, changing light or a rising wind may move a group slowly.", "Ermüdung, anderes Licht oder auffrischender Wind können eine Gruppe langsam verschieben.", "Fatigue, lumière changeante ou vent qui monte peuvent déplacer un groupe lentement.";
    CauseSlip: "Something may have slipped at that moment: sight, rest, nocking point, limb bolt, stabiliser.", "In dem Moment könnte etwas verrutscht sein: Visier, Auflage, Nockpunkt, Wurfarmschraube, Stabilisator.", "Quelque chose a pu glisser à ce moment : viseur, repose-flèche, encochage, vis de branche, stabilisateur.";
    CauseDamaged: "A single wide arrow may be a damaged one: flex it, look along it, check nock, point and fletching before it is shot again.", "Ein einzelner weiter Pfeil könnte beschädigt sein: biegen, entlangsehen, Nocke, Spitze und Federn prüfen, bevor er wieder geschossen wird.", "Une flèche isolée peut être abîmée : pliez-la, regardez-la en enfilade, vérifiez encoche, pointe et plumes avant de la retirer.";
    CauseNothing: "Nothing stands out. The group is what it is; the sight is the thing to look at.", "Nichts fällt auf. Die Gruppe ist, wie sie ist; zu prüfen ist das Visier.", "Rien ne ressort. Le groupe est ce qu’il est ; c’est le viseur qu’il faut regarder.";
    ReadingTitle: "The group in numbers", "Die Gruppe in Zahlen", "Le groupe en chiffres";
    CentreIs: "Its centre is {0}; 4 times in 5 the true one lies within {1} of there.", "Ihre Mitte: {0}; 4 von 5 Malen liegt die wahre höchstens {1} daneben.", "Son centre : {0} ; 4 fois sur 5, le vrai est à moins de {1} de là.";
    CentreOfBoth: "The centre of both together is {0}; 4 times in 5 the true one lies within {1} of there.", "Die Mitte beider zusammen: {0}; 4 von 5 Malen liegt die wahre höchstens {1} daneben.", "Le centre des deux ensemble : {0} ; 4 fois sur 5, le vrai est à moins de {1} de là.";
    SpreadIs: "Half of the clean arrows land within {0} of the centre (spread {1} an axis, {2}).", "Die Hälfte der sauberen Pfeile trifft höchstens {0} neben die Mitte (Streuung {1} je Achse, {2}).", "La moitié des flèches propres arrive à moins de {0} du centre (dispersion {1} par axe, {2}).";
    ExpectedNow: "Expected for the next arrow: {0} points.", "Erwartet für den nächsten Pfeil: {0} Punkte.", "Attendu pour la prochaine flèche : {0} points.";
    MeanRule: "The plain mean of all arrows would say: {0}.", "Das einfache Mittel aller Pfeile würde sagen: {0}.", "La simple moyenne dirait : {0}.";

    // A reading, wherever it is told.
    ReadWorthTitle: "What it is worth", "Was es bringt", "Ce que cela vaut";
    ReadNoneLeft: "No arrows are left at this distance, so no move can gain anything now.", "Auf diese Entfernung ist kein Pfeil mehr übrig: Stellen bringt nichts mehr.", "Il ne reste pas de flèches à cette distance : un réglage ne rapporte plus rien.";
    ReadNoGain: "No move of the sight is expected to gain anything over the {0} {0|arrow|arrows} left.", "Kein Stellen verspricht etwas auf {0} {0|übrigen Pfeil|übrige Pfeile}.", "Aucun réglage ne promet de gain sur {0} {0/flèche restante/flèches restantes}.";
    ReadWorth: "It is worth about {0} points over the {1} {1|arrow|arrows} left (4 times in 5 between {2} and {3}); the chance that it helps is {4}.", "Es bringt etwa {0} Punkte auf {1} {1|übrigen Pfeil|übrige Pfeile} (4 von 5 Malen zwischen {2} und {3}); dass es hilft, ist zu {4} sicher.", "Cela vaut environ {0} points sur {1} {1/flèche restante/flèches restantes} (4 fois sur 5 entre {2} et {3}) ; la chance que cela aide est de {4}.";
    ReadWorthBest: "The best move ({5}) would be worth about {0} points over the {1} {1|arrow|arrows} left (4 times in 5 between {2} and {3}); the chance that it helps is {4}.", "Das beste Stellen ({5}) brächte etwa {0} Punkte auf {1} {1|übrigen Pfeil|übrige Pfeile} (4 von 5 Malen zwischen {2} und {3}); dass es hilft, ist zu {4} sicher.", "Le meilleur réglage ({5}) vaudrait environ {0} points sur {1} {1/flèche restante/flèches restantes} (4 fois sur 5 entre {2} et {3}) ; la chance qu’il aide est de {4}.";
    ReadWorthCost: "That is less than the {0} points a touch has to gain.", "Das ist weniger als die {0} Punkte, die Stellen bringen muss.", "C’est moins que les {0} points qu’un réglage doit rapporter.";
    ReadScoreAfter: "After the move: {0}.", "Nach dem Stellen: {0}.", "Après le réglage : {0}.";
    ReadLook: "Look again after {0} more {0|arrow|arrows}.", "Nach {0} {0|weiteren Pfeil|weiteren Pfeilen} wieder nachsehen.", "Regarder à nouveau après {0} {0/flèche/flèches} de plus.";
    ReadMoreNone: "After that, 4 times in 5, no further touch would gain the {0} points it costs.", "Danach bringt 4 von 5 Malen kein weiteres Stellen die {0} Punkte, die es kostet.", "Ensuite, 4 fois sur 5, aucun autre réglage ne rapporterait les {0} points qu’il coûte.";
    ReadMoreMany: "It would take a great many more arrows to know the centre so well that no further touch could gain {0} points.", "Es bräuchte sehr viele Pfeile mehr, bis kein weiteres Stellen mehr {0} Punkte brächte.", "Il faudrait beaucoup de flèches de plus pour qu’aucun autre réglage ne rapporte {0} points.";
    ReadMore: "After about {0} more the centre is known so well that, 4 times in 5, no further touch would gain the {1} points it costs.", "Nach etwa {0} weiteren ist die Mitte so gut bekannt, dass 4 von 5 Malen kein weiteres Stellen die {1} Punkte bringt, die es kostet.", "Après environ {0} de plus, le centre est si bien connu que, 4 fois sur 5, aucun autre réglage ne rapporterait les {1} points qu’il coûte.";
    ReadMeanWorth: "That would be worth about {0} points.", "Das brächte etwa {0} Punkte.", "Cela vaudrait environ {0} points.";
    ReadAssumed: "{0} arrows left are assumed; say --left to change that.", "{0} übrige Pfeile sind angenommen; --left ändert das.", "{0} flèches restantes sont supposées ; --left le change.";
    ReadPin: "That is {0} at the pin as you see it. The sight follows the arrows: the pin goes where they land.", "Das sind {0} am Korn, wie du es siehst. Das Visier folgt den Pfeilen: das Korn geht dahin, wo sie treffen.", "Cela fait {0} au guidon, comme vous le voyez. Le viseur suit les flèches : le guidon va là où elles arrivent.";
    ReadElevation: "Elevation scale: {0}", "Höhenskala: {0}", "Échelle de hauteur : {0}";
    ReadWindage: "Windage scale: {0}", "Seitenskala: {0}", "Échelle latérale : {0}";
    CountsUp: "the number grows", "die Zahl wird größer", "le chiffre augmente";
    CountsDown: "the number falls", "die Zahl wird kleiner", "le chiffre diminue";
    ReadGroup: "The group: {0} {0|arrow|arrows} at {1} on {2}", "Die Gruppe: {0} {0|Pfeil|Pfeile} auf {1}, Auflage {2}", "Le groupe : {0} {0/flèche/flèches} à {1}, blason {2}";
    RightHanded: "right-handed", "Rechtshand", "droitier";
    LeftHanded: "left-handed", "Linkshand", "gaucher";
    ReadTouched: "After shot {0} the pin was moved {1}: the shots before are drawn where they would land now.", "Nach Schuss {0} wurde das Korn gestellt ({1}): die Schüsse davor sind gezeichnet, wo sie jetzt träfen.", "Après le tir {0}, le guidon a été réglé ({1}) : les tirs d’avant sont dessinés là où ils arriveraient maintenant.";
    ReadShots: "Which shots counted", "Welche Schüsse zählten", "Quels tirs ont compté";
    ReadToKnow: "To know", "Zu wissen", "À savoir";
    ReadSafety: "SAFETY: {0}", "SICHERHEIT: {0}", "SÉCURITÉ : {0}";
    ColShot: "shot", "Schuss", "tir";
    ColEnd: "end", "Passe", "volée";
    ColArrow: "arrow", "Pfeil", "flèche";
    ColLanded: "landed", "traf", "arrivée";
    ColRing: "ring", "Ring", "zone";
    ColNow: "would land now", "träfe jetzt", "arriverait";
    ColCounts: "counts as", "zählt als", "compte comme";
    CountsFlyer: "flyer {0}, counts little", "Ausreißer {0}, zählt wenig", "écart {0}, compte peu";
    CountsStray: "stray {0}, hardly counts", "Irrläufer {0}, zählt kaum", "égarée {0}, ne compte guère";
    CalledAs: "called {0}", "angesagt {0}", "annoncée {0}";
    LegendFlyer: "flyer", "Ausreißer", "écart";
    LegendStray: "stray", "Irrläufer", "égarée";
    LegendCentre: "centre", "Mitte", "centre";
    LegendGoal: "where the move takes it", "wohin das Stellen sie bringt", "là où le réglage le mène";
    LegendPile: "2 to 9: shots in one place", "2 bis 9: Schüsse an einer Stelle", "2 à 9 : tirs au même endroit";
    OverPercent: "over 99 %", "über 99 %", "plus de 99 %";
    UnderPercent: "under 1 %", "unter 1 %", "moins de 1 %";
    CheckMark: "Check the mark first: this looks like the {0} mark.", "Erst die Marke prüfen: das sieht nach der Marke für {0} aus.", "Vérifiez d’abord le repère : on dirait celui de {0}.";
    CheckMarkTold: "The group lies where that mark would put it (chance {0}). The mark of {1} is {2}: read the scale, set it, and shoot again close and with a safe overshoot. Only if it was set right, the sight wants this:", "Die Gruppe liegt, wo diese Marke sie hinsetzt (Chance {0}). Die Marke für {1} ist {2}: Skala ablesen, einstellen, und wieder aus der Nähe mit sicherem Raum dahinter schießen. Nur wenn sie richtig stand, will das Visier dies:", "Le groupe est là où ce repère le mettrait (chance {0}). Le repère de {1} est {2} : lisez l’échelle, réglez, et tirez de près avec une zone libre derrière. S’il était bien réglé seulement, le viseur demande ceci :";
    RefinedLine: "Through the flight of your arrow, fitted to {0} {0|mark|marks}, the elevation is {1}; by similar triangles it is {2}. The flight is the better guide where your marks are well proven.", "Durch den Flug deines Pfeils, angepasst an {0} {0|Marke|Marken}, ist die Höhe {1}; nach dem Strahlensatz {2}. Der Flug führt besser, wo die Marken gut bewährt sind.", "Par le vol de votre flèche, ajusté à {0} {0/repère/repères}, la hauteur est {1} ; par triangles semblables {2}. Le vol guide mieux là où les repères sont éprouvés.";
    ReadCautions: "Safety: inspect your arrows before you shoot them again; shoot a new or predicted mark first at a close distance with a safe overshoot behind the target; the range captain and the rules come first.", "Sicherheit: Pfeile prüfen, bevor sie wieder geschossen werden; eine neue oder vorhergesagte Marke zuerst aus der Nähe schießen, mit sicherem Raum hinter der Scheibe; Schießleitung und Regeln gehen vor.", "Sécurité : inspectez les flèches avant de les retirer ; un repère nouveau ou prévu se tire d’abord de près, avec une zone libre derrière la cible ; le directeur de tir et les règles priment.";

    // Notices.
    NoteFew: "{0} {0|shot is|shots are} thin evidence; {1} more would settle it.", "{0} {0|Schuss ist|Schüsse sind} dünn; {1} weitere würden es klären.", "{0} {0/tir/tirs}, c’est peu ; {1} de plus trancheraient.";
    NoteSplit: "Two groups ({0}): shots {1} and shots {2}. The sight can serve only one of them: find what differs before you trust a correction.", "Zwei Gruppen ({0}): Schüsse {1} und Schüsse {2}. Das Visier kann nur einer dienen: erst den Unterschied finden, dann stellen.", "Deux groupes ({0}) : tirs {1} et tirs {2}. Le viseur n’en sert qu’un : trouvez la différence avant de corriger.";
    NoteDrift: "The group is moving as you shoot ({0}). The advice follows where it is now.", "Die Gruppe wandert beim Schießen ({0}). Der Rat folgt ihr dorthin, wo sie jetzt ist.", "Le groupe se déplace pendant le tir ({0}). Le conseil suit sa position actuelle.";
    NoteJump: "The group jumped before shot {1} ({0}): something changed there. Only the shots since then speak for the sight.", "Die Gruppe sprang vor Schuss {1} ({0}): da hat sich etwas geändert. Nur die Schüsse seither zählen fürs Visier.", "Le groupe a sauté avant le tir {1} ({0}) : quelque chose a changé. Seuls les tirs suivants parlent pour le viseur.";
    NoteLineSideways: "The group is a line sideways, {0} by {1}: look at the wind, a canted bow, the release.", "Die Gruppe ist eine waagrechte Linie, {0} mal {1}: Wind, verkanteter Bogen, Ablass ansehen.", "Le groupe est une ligne horizontale, {0} sur {1} : voir le vent, l’arc incliné, la décoche.";
    NoteLineUpright: "The group is a line up and down, {0} by {1}: look at draw length, the hand on the grip, the anchor.", "Die Gruppe ist eine senkrechte Linie, {0} mal {1}: Auszugslänge, Griffhand, Anker ansehen.", "Le groupe est une ligne verticale, {0} sur {1} : voir l’allonge, la main d’arc, l’ancrage.";
    NoteLineSlanting: "The group is a slanting line, {0} by {1}: look at the anchor, a canted bow.", "Die Gruppe ist eine schräge Linie, {0} mal {1}: Anker, verkanteten Bogen ansehen.", "Le groupe est une ligne oblique, {0} sur {1} : voir l’ancrage, l’arc incliné.";
    NoteStray: "Shot {0} does not belong to this group ({1}). It hardly counts.", "Schuss {0} gehört nicht zur Gruppe ({1}). Er zählt kaum.", "Le tir {0} n’appartient pas au groupe ({1}). Il ne compte guère.";
    NoteFlyer: "Shot {0} flew wide of the group ({1}). It counts little.", "Schuss {0} flog neben die Gruppe ({1}). Er zählt wenig.", "Le tir {0} s’écarte du groupe ({1}). Il compte peu.";
    NoteWrongMark: "The centre is {0} from the middle: that is no fine adjustment. Check that the sight is on the mark of this distance and that nothing has slipped.", "Die Mitte liegt {0} daneben: das ist keine Feineinstellung. Prüfen, ob das Visier auf der Marke dieser Entfernung steht und nichts verrutscht ist.", "Le centre est à {0} du milieu : ce n’est plus un réglage fin. Vérifiez le repère de cette distance et que rien n’a glissé.";
    NoteMisses: "Off the face: {0}. Find the arrow before you go on.", "Neben der Auflage: {0}. Erst den Pfeil suchen.", "Hors du blason : {0}. Retrouvez la flèche avant de continuer.";
    NoteWide: "A shaft of {0} is wider than the {1} that the rules allow ({2}). Measure again, or ask the judge.", "Ein Schaft von {0} ist dicker als die erlaubten {1} ({2}). Nachmessen oder Kampfrichter fragen.", "Un tube de {0} dépasse les {1} permis ({2}). Remesurez ou demandez au juge.";
    NoteSearch: "The answer may be off by about {0}.", "Die Antwort kann um etwa {0} danebenliegen.", "La réponse peut s’écarter d’environ {0}.";
    NoteInspect: "Inspect the arrow of shot {0} before it is shot again. Never shoot a damaged arrow.", "Den Pfeil von Schuss {0} prüfen, bevor er wieder geschossen wird. Nie einen beschädigten Pfeil schießen.", "Inspectez la flèche du tir {0} avant de la retirer. Ne tirez jamais une flèche abîmée.";
    NoteUnproven: "A new setting: shoot it first close, with a clear overshoot area behind the target, and step out. The range captain’s word comes first.", "Neue Einstellung: erst nah schießen, mit freiem Raum hinter dem Ziel, dann schrittweise zurück. Das Wort der Schießleitung geht vor.", "Nouveau réglage : tirez d’abord de près, avec une zone libre derrière la cible, puis reculez. La parole du directeur de tir prime.";

    // Kit.
    KitName: "Name of the kit", "Name des Materials", "Nom du matériel";
    NewKit: "New kit", "Neues Material", "Nouveau matériel";
    EyeToPin: "Eye to pin", "Auge bis Visierkorn", "Œil au guidon";
    ClickUpDown: "One click up/down moves the pin by", "Ein Klick Höhe bewegt das Korn um", "Un clic en hauteur déplace le guidon de";
    ClickLeftRight: "One click left/right moves the pin by", "Ein Klick Seite bewegt das Korn um", "Un clic en latéral déplace le guidon de";
    ShaftWidth: "Shaft diameter", "Schaftdurchmesser", "Diamètre du tube";
    SpreadExpected: "Your spread (one standard deviation)", "Deine Streuung (eine Standardabweichung)", "Votre dispersion (un écart type)";
    SpreadHelp: "in mrad: millimetres for each metre of distance; 3 is a club archer, 1.5 a strong one", "in mrad: Millimeter je Meter Entfernung; 3 ist Verein, 1,5 stark", "en mrad : millimètres par mètre ; 3 pour un archer de club, 1,5 pour un fort";
    ScaleUnit: "Length of one unit on the sight’s scale", "Länge einer Einheit der Visierskala", "Longueur d’une unité de l’échelle";
    ScaleDown: "When the pin goes down, the number", "Geht das Korn runter, wird die Zahl", "Quand le guidon descend, le chiffre";
    Grows: "grows", "größer", "augmente";
    Falls: "falls", "kleiner", "diminue";
    EyeAbove: "Eye above the arrow", "Auge über dem Pfeil", "Œil au-dessus de la flèche";
    ArrowMass: "Arrow mass", "Pfeilmasse", "Masse de la flèche";
    ArrowSpeed: "Arrow speed, if measured", "Pfeilgeschwindigkeit, falls gemessen", "Vitesse de la flèche, si mesurée";
    TouchCost: "Points a touch must gain", "Punkte, die eine Verstellung bringen muss", "Points qu’un réglage doit rapporter";
    TouchCostHelp: "empty is half a point", "leer heißt ein halber Punkt", "vide signifie un demi-point";
    NumberMissing: "This is needed.", "Das wird gebraucht.", "C’est nécessaire.";
    NumberNone: "“{0}” is not a number. Write it like {1} or 5 1/2.", "„{0}“ ist keine Zahl. Schreib sie wie {1} oder 5 1/2.", "« {0} » n’est pas un nombre. Écrivez-le comme {1} ou 5 1/2.";
    NumberUnit: "“{0}” does not fit here: {1} is meant.", "„{0}“ passt hier nicht: {1} ist gemeint.", "« {0} » ne convient pas ici : il s’agit de {1}.";
    NumberNoUnit: "Only the number, please, without “{0}”.", "Bitte nur die Zahl, ohne „{0}“.", "Le nombre seul, s’il vous plaît, sans « {0} ».";
    NumberRange: "From {0} to {1}, please.", "Bitte von {0} bis {1}.", "De {0} à {1}, s’il vous plaît.";
    WindageNow: "Reading of the sight (left/right)", "Ablesung am Visier (Seite)", "Lecture du viseur (latéral)";
    WindageUnit: "Length of one unit on the windage scale", "Länge einer Einheit der Seitenskala", "Longueur d’une unité de l’échelle latérale";
    WindageRight: "When the pin goes right, the number", "Geht das Korn nach rechts, wird die Zahl", "Quand le guidon va à droite, le chiffre";
    SettingError: "A setting is usually off at the pin by", "Eine Einstellung ist am Korn meist falsch um", "Un réglage est d’ordinaire faux au guidon de";
    SettingErrorHelp: "one standard deviation: play in the sight, reading the scale", "eine Standardabweichung: Spiel im Visier, Ablesen der Skala", "un écart type : jeu du viseur, lecture de l’échelle";
    KitArrows: "Arrows of this kit", "Pfeile dieses Materials", "Flèches de ce matériel";
    KitArrowsHelp: "Name them as they are numbered; shots can then be given these names. Retire an arrow that is lost or damaged: never shoot a damaged arrow.", "So benennen, wie sie nummeriert sind; Schüsse können dann diese Namen tragen. Verlorene oder beschädigte Pfeile ausmustern: nie einen beschädigten Pfeil schießen.", "Nommez-les comme elles sont numérotées ; les tirs pourront porter ces noms. Retirez une flèche perdue ou abîmée : ne tirez jamais une flèche abîmée.";
    KitArrowsFirst: "Save the kit to name its arrows.", "Das Material sichern, um seine Pfeile zu benennen.", "Enregistrez le matériel pour nommer ses flèches.";
    AddArrows: "Names, with spaces between", "Namen, durch Leerzeichen getrennt", "Noms, séparés par des espaces";
    Retire: "Retire", "Ausmustern", "Retirer du jeu";
    Retired: "retired", "ausgemustert", "retirée";
    BackInUse: "Back in use", "Wieder nutzen", "Remettre";
    ArrowThere: "{0} is there already.", "{0} gibt es schon.", "{0} existe déjà.";
    NameNeeded: "Give it a name.", "Bitte einen Namen geben.", "Donnez-lui un nom.";

    // Marks.
    MarkShot: "Marks shot", "Geschossene Marken", "Repères tirés";
    MarkPredicted: "Marks to expect", "Zu erwartende Marken", "Repères attendus";
    Reading: "Reading", "Ablesung", "Lecture";
    MarkArrows: "Arrows it was shot with", "Mit wie vielen Pfeilen", "Nombre de flèches tirées";
    MarkArrowsHint: "The more arrows, the better the mark is known. Left empty, the log is asked, else six are taken.", "Je mehr Pfeile, desto genauer die Marke. Leer: das Buch wird gefragt, sonst gelten sechs.", "Plus il y a de flèches, mieux le repère est connu. Vide : le carnet est consulté, sinon six.";
    AddMark: "Note a mark", "Marke eintragen", "Noter un repère";
    FourInFive: "4 in 5 between", "4 von 5 zwischen", "4 sur 5 entre";
    MarksNone: "No marks yet: shoot one distance in and note the reading.", "Noch keine Marken: eine Entfernung einschießen und die Ablesung eintragen.", "Pas encore de repères : réglez une distance et notez la lecture.";
    MarksNeedArrow: "Give the kit its arrow (mass, length, shaft) and the height of the eye above it to get predicted marks.", "Für Vorhersagen dem Material den Pfeil (Masse, Länge, Schaft) und die Augenhöhe darüber geben.", "Pour des prévisions, indiquez la flèche (masse, longueur, tube) et la hauteur de l’œil.";
    MarkSuspect: "The mark at {0} does not fit the others ({1}); they say {2}.", "Die Marke bei {0} passt nicht zu den anderen ({1}); die sagen {2}.", "Le repère à {0} ne va pas avec les autres ({1}) ; ils disent {2}.";
    MarkNext: "Shooting {0} next would teach most.", "{0} als Nächstes würde am meisten lehren.", "Tirer {0} ensuite apprendrait le plus.";
    MarkUnproven: "A predicted mark is first shot close and safe, with a clear overshoot area; then step out. The range captain’s word comes first.", "Eine vorhergesagte Marke wird erst nah und sicher geschossen, mit freiem Raum dahinter; dann schrittweise zurück. Das Wort der Schießleitung geht vor.", "Un repère prévu se tire d’abord de près, avec une zone libre derrière ; puis on recule. La parole du directeur de tir prime.";
    Extrapolated: "outside what was shot", "außerhalb des Geschossenen", "hors des distances tirées";
    Card: "Card", "Karte", "Carte";
    MarkFailed: "The marks cannot be fitted: {0}", "Die Marken lassen sich nicht anpassen: {0}", "Les repères ne s’ajustent pas : {0}";

    // Pacing.
    PacingTitle: "What a rule of touching costs", "Was eine Stellregel kostet", "Ce que coûte une règle de réglage";
    PacingHelp: "Plays whole rounds of an archer like you whose first setting is off, under each rule with the same luck.", "Spielt ganze Runden eines Schützen wie dir, dessen erste Einstellung nicht stimmt, mit jeder Regel und gleichem Glück.", "Joue des séries entières d’un archer comme vous dont le premier réglage est faux, sous chaque règle et avec la même chance.";
    FirstOff: "First setting off by (standard deviation on the face)", "Erste Einstellung daneben um (Standardabweichung auf der Auflage)", "Premier réglage faux de (écart type sur le blason)";
    Flyers: "Flyers, in 100 arrows", "Ausreißer je 100 Pfeile", "Écarts, sur 100 flèches";
    DriftBetween: "Drift between ends, on the face", "Wandern zwischen Passen, auf der Auflage", "Dérive entre volées, sur le blason";
    RunRehearsal: "Play {0} rounds", "{0} Runden spielen", "Jouer {0} séries";
    Playing: "Played {0} of {1}", "{0} von {1} gespielt", "{0} jouées sur {1}";
    Rule: "Rule", "Regel", "Règle";
    GivenAway: "Points given away", "Verschenkte Punkte", "Points perdus";
    Touches: "Touches", "Verstellungen", "Réglages";
    Worse: "Worse than never", "Schlechter als nie", "Pire que jamais";
    RuleNever: "Never touch", "Nie stellen", "Ne jamais régler";
    RuleEvery: "After every arrow", "Nach jedem Pfeil", "Après chaque flèche";
    RuleThree: "After every three", "Nach je drei", "Toutes les trois";
    RuleSix: "After every six", "Nach je sechs", "Toutes les six";
    RuleThreeThenSix: "After three, then every six", "Nach drei, dann je sechs", "Après trois, puis toutes les six";
    RuleOnceThree: "Once, after three", "Einmal, nach drei", "Une fois, après trois";
    RuleOnceSix: "Once, after six", "Einmal, nach sechs", "Une fois, après six";
    RuleHarmonic: "Half, a third, a quarter …", "Halb, ein Drittel, ein Viertel …", "Moitié, tiers, quart …";
    RuleGoldward: "Goldward, touches free", "Goldward, Stellen kostenlos", "Goldward, réglages gratuits";
    RuleCalm: "Goldward, touches cost", "Goldward, Stellen kostet", "Goldward, réglages payants";
    RuleLearner: "Best that arrows can teach", "Das Beste, was Pfeile lehren", "Le mieux qu’apprennent les flèches";
    RuleOracle: "Knows the centre", "Kennt die Mitte", "Connaît le centre";

    // Progress.
    ProgressTitle: "How it goes", "Wie es läuft", "Comment ça va";
    Arrows: "Arrows", "Pfeile", "Flèches";
    PerArrow: "Per arrow", "Je Pfeil", "Par flèche";
    Spread: "Spread", "Streuung", "Dispersion";
    Date: "Date", "Datum", "Date";
    ProgressAt: "At {0}", "Auf {0}", "À {0}";
    SpreadPicture: "Spread, session by session, in mrad; lower is better. Each bar holds the truth 4 times in 5.", "Streuung, Einheit für Einheit, in mrad; weniger ist besser. Jeder Balken enthält die Wahrheit 4 von 5 Malen.", "Dispersion, séance après séance, en mrad ; moins est mieux. Chaque barre contient le vrai 4 fois sur 5.";
    SpreadSmaller: "The spread has become smaller: latest sessions ({0}) against those before ({1}): {2} % ({3} to {4} %).", "Die Streuung ist kleiner geworden: letzte Einheiten ({0}) gegen die davor ({1}): {2} % ({3} bis {4} %).", "La dispersion a diminué : dernières séances ({0}) contre les précédentes ({1}) : {2} % ({3} à {4} %).";
    SpreadLarger: "The spread has become larger: latest sessions ({0}) against those before ({1}): {2} % ({3} to {4} %).", "Die Streuung ist größer geworden: letzte Einheiten ({0}) gegen die davor ({1}): {2} % ({3} bis {4} %).", "La dispersion a augmenté : dernières séances ({0}) contre les précédentes ({1}) : {2} % ({3} à {4} %).";
    SpreadSame: "The spread has not clearly changed: latest sessions ({0}) against those before ({1}): {2} % ({3} to {4} %).", "Die Streuung hat sich nicht klar geändert: letzte Einheiten ({0}) gegen die davor ({1}): {2} % ({3} bis {4} %).", "La dispersion n’a pas nettement changé : dernières séances ({0}) contre les précédentes ({1}) : {2} % ({3} à {4} %).";
    PointsWent: "On {0} you scored {1} of {2}. The spread cost {3} points, where the sight stood {4}, flyers and luck {5}.", "Am {0} waren es {1} von {2}. Die Streuung kostete {3} Punkte, die Lage des Visiers {4}, Ausreißer und Glück {5}.", "Le {0}, {1} sur {2}. La dispersion a coûté {3} points, la position du viseur {4}, écarts et chance {5}.";
    Handicap: "Handicap", "Handicap", "Handicap";
    ToSight: "Lost to the sight", "Verloren durchs Visier", "Perdus par le viseur";
    ToSpread: "Lost to the spread", "Verloren durch Streuung", "Perdus par dispersion";
    ByArrow: "Arrow by arrow", "Pfeil für Pfeil", "Flèche par flèche";
    ByArrowNone: "Give shots an arrow number to compare arrows.", "Schüssen eine Pfeilnummer geben, um Pfeile zu vergleichen.", "Numérotez les flèches pour les comparer.";
    Compare: "Compare archers", "Schützen vergleichen", "Comparer les archers";

    // Arrow by arrow.
    Shots: "Shots", "Schüsse", "Tirs";
    LandsAt: "Lands at {0}", "Trifft auf {0}", "Arrive à {0}";
    OffChance: "Is off", "Weicht ab", "Décalée";
    OwnSpread: "Own spread", "Eigene Streuung", "Dispersion propre";
    OffFrom: "off from {0} on", "abweichend ab {0}", "décalée dès {0}";
    FleetOff: "Inspect arrow {0}: it lands {1} of the others at {2}, {3}.", "Pfeil {0} prüfen: er trifft auf {2} {1} von den anderen, {3}.", "Inspectez la flèche {0} : à {2} elle arrive {1} des autres, {3}.";
    FleetWide: "Inspect arrow {0}: it scatters {1} times as wide as the others ({2} to {3}), {4}.", "Pfeil {0} prüfen: er streut {1}-mal so weit wie die anderen ({2} bis {3}), {4}.", "Inspectez la flèche {0} : elle se disperse {1} fois plus que les autres ({2} à {3}), {4}.";
    FleetUnclear: "Arrow {0} is unclear ({1} to be off): {2} more {2|shot|shots} of it would settle that in half of the cases.", "Pfeil {0} ist unklar (weicht zu {1} ab): {2} {2|weiterer Schuss würde|weitere Schüsse würden} es in der Hälfte der Fälle klären.", "La flèche {0} est incertaine (décalée à {1}) : {2} {2/tir de plus trancherait/tirs de plus trancheraient} une fois sur deux.";
    FleetUnclearNear: "Arrow {0} is unclear ({1} to be off), so near the limit that {2} more shots may not settle it.", "Pfeil {0} ist unklar (weicht zu {1} ab), so nah an der Grenze, dass {2} weitere Schüsse es kaum klären.", "La flèche {0} est incertaine (décalée à {1}), si près de la limite que {2} tirs de plus n’y suffiraient peut-être pas.";
    FleetCalm: "No arrow stands out. What goes astray is the archer, the sight or the wind.", "Kein Pfeil fällt auf. Was danebengeht, liegt am Schützen, am Visier oder am Wind.", "Aucune flèche ne se distingue. Ce qui s’égare vient de l’archer, du viseur ou du vent.";
    FleetSafety: "Inspect an arrow before you shoot it again: shaft, nock, vanes, point. Never shoot a damaged arrow.", "Einen Pfeil prüfen, bevor er wieder geschossen wird: Schaft, Nocke, Federn, Spitze. Nie einen beschädigten Pfeil schießen.", "Inspectez une flèche avant de la retirer : tube, encoche, plumes, pointe. Ne tirez jamais une flèche abîmée.";
    FleetPicture: "Where each arrow lands against the others, as you see it. Each ring holds the truth 4 times in 5.", "Wo jeder Pfeil gegen die anderen trifft, wie du es siehst. In jedem Ring liegt die Wahrheit 4 von 5 Malen.", "Où arrive chaque flèche par rapport aux autres, vu de l’archer. Chaque anneau contient le vrai 4 fois sur 5.";
    FleetIntro: "{0} {0|shot|shots} of {1} {1|arrow|arrows} in {2} {2|session|sessions}. One arrow scatters by {3} at {4}; one that lands {5} or more from the others is off.", "{0} {0|Schuss|Schüsse} von {1} {1|Pfeil|Pfeilen} in {2} {2|Einheit|Einheiten}. Ein Pfeil streut um {3} auf {4}; wer {5} oder mehr neben den anderen trifft, weicht ab.", "{0} {0/tir/tirs} de {1} {1/flèche/flèches} en {2} {2/séance/séances}. Une flèche se disperse de {3} à {4} ; à {5} ou plus des autres, elle est décalée.";
    FleetRate: "Of the arrows named as off, at most about {0} should be innocent.", "Von den als abweichend genannten Pfeilen sollten höchstens etwa {0} unschuldig sein.", "Parmi les flèches dites décalées, environ {0} au plus devraient être innocentes.";
    FleetLeftOut: "Left out: {0} {0|shot|shots} without an arrow number, {1} without a place (a miss, or a ring alone).", "Weggelassen: {0} {0|Schuss|Schüsse} ohne Pfeilnummer, {1} ohne Ort (Fehlschuss oder nur Ring).", "Laissés de côté : {0} {0/tir/tirs} sans numéro de flèche, {1} sans position (manqué, ou anneau seul).";
    TheArcher: "The archer", "Der Schütze", "L’archer";
    TrendGrew: "{0}: the spread grew, {1} times as wide at the last end as at the first ({2} to {3}), {4}: tired, or the light or the wind changed.", "{0}: die Streuung wuchs, in der letzten Passe {1}-mal so weit wie in der ersten ({2} bis {3}), {4}: müde, oder Licht oder Wind haben sich geändert.", "{0} : la dispersion a grandi, {1} fois plus large à la dernière volée qu’à la première ({2} à {3}), {4} : fatigue, lumière ou vent.";
    TrendShrank: "{0}: the spread shrank, {1} times as wide at the last end as at the first ({2} to {3}), {4}: a warm-up may help.", "{0}: die Streuung schrumpfte, in der letzten Passe {1}-mal so weit wie in der ersten ({2} bis {3}), {4}: Aufwärmen könnte helfen.", "{0} : la dispersion a diminué, {1} fois la première volée à la dernière ({2} à {3}), {4} : un échauffement aiderait peut-être.";
    TrendNone: "{0}: no sign of fatigue; the last end was {1} times as wide as the first ({2} to {3}; {4} that it grew).", "{0}: keine Ermüdung zu sehen; die letzte Passe war {1}-mal so weit wie die erste ({2} bis {3}; zu {4} gewachsen).", "{0} : pas de signe de fatigue ; la dernière volée était {1} fois la première ({2} à {3} ; {4} qu’elle ait grandi).";
    WarmUp: "{0}: the first two ends were {1} times as wide as the rest ({2} to {3}): a warm-up may help.", "{0}: die ersten zwei Passen waren {1}-mal so weit wie der Rest ({2} bis {3}): Aufwärmen könnte helfen.", "{0} : les deux premières volées étaient {1} fois plus larges que les autres ({2} à {3}) : un échauffement aiderait peut-être.";
    TrendFew: "For fatigue and warm-up, shoot {0} ends or more in a session.", "Für Ermüdung und Aufwärmen {0} oder mehr Passen in einer Einheit schießen.", "Pour la fatigue et l’échauffement, tirez {0} volées ou plus par séance.";
    FeltTell: "{0} {0|shot|shots} felt bad, about {1} of them flyers. A flyer is {2} times as likely to feel bad as a clean shot ({3} to {4}): your marks earn their weight. A shot that feels bad is a flyer with {5}.", "{0} {0|Schuss fühlte|Schüsse fühlten} sich schlecht an, etwa {1} davon Ausreißer. Ein Ausreißer fühlt sich {2}-mal so oft schlecht an wie ein sauberer Schuss ({3} bis {4}): dein Gefühl zählt. Was sich schlecht anfühlt, ist zu {5} ein Ausreißer.", "{0} {0/tir senti mauvais/tirs sentis mauvais}, dont environ {1} écarts. Un écart est senti mauvais {2} fois plus souvent qu’un tir propre ({3} à {4}) : votre ressenti compte. Un tir senti mauvais est un écart à {5}.";
    FeltKit: "For your kit file: {0}", "Für deine Materialdatei: {0}", "Pour votre fichier de matériel : {0}";
    FeltUnproven: "{0} {0|shot|shots} felt bad, about {1} of them flyers. A flyer is {2} times as likely to feel bad as a clean shot ({3} to {4}): too little yet to trust the marks. A shot that feels bad is a flyer with {5}.", "{0} {0|Schuss fühlte|Schüsse fühlten} sich schlecht an, etwa {1} davon Ausreißer. Ein Ausreißer fühlt sich {2}-mal so oft schlecht an wie ein sauberer Schuss ({3} bis {4}): noch zu wenig, um dem Gefühl zu trauen. Was sich schlecht anfühlt, ist zu {5} ein Ausreißer.", "{0} {0/tir senti mauvais/tirs sentis mauvais}, dont environ {1} écarts. Un écart est senti mauvais {2} fois plus souvent qu’un tir propre ({3} à {4}) : trop peu encore pour s’y fier. Un tir senti mauvais est un écart à {5}.";
    FeltNone: "No shot was marked by how it felt. Mark them before you look, to learn how well you know.", "Kein Schuss wurde nach Gefühl markiert. Vor dem Hinsehen markieren, um zu lernen, wie gut das Gefühl ist.", "Aucun tir n’a été marqué selon le ressenti. Marquez avant de regarder, pour savoir ce qu’il vaut.";
    TooFewShots: "{0} are too few: it takes at least {1}.", "{0} sind zu wenige: es braucht mindestens {1}.", "{0}, c’est trop peu : il en faut au moins {1}.";
    TooFewEnds: "{0} {0|end is|ends are} too few: it takes at least {1}.", "{0} {0|Passe ist zu wenig|Passen sind zu wenige}: es braucht mindestens {1}.", "{0} {0/volée/volées}, c’est trop peu : il en faut au moins {1}.";
    NoScatter: "The shots do not scatter: plot each where it is.", "Die Schüsse streuen nicht: jeden dort eintragen, wo er steckt.", "Les tirs ne se dispersent pas : placez chacun où il est.";
    CannotTell: "This cannot be told: {0}", "Das lässt sich nicht sagen: {0}", "Impossible à dire : {0}";
    AllKits: "every kit", "alles Material", "tout le matériel";

    // Before and after.
    CompareTitle: "Before and after", "Vorher und nachher", "Avant et après";
    CompareHelp: "Which sessions are A, which are B? Press both for one session whose odd ends were shot with A and even ends with B.", "Welche Einheiten sind A, welche B? Beides drücken, wenn in einer Einheit die ungeraden Passen mit A und die geraden mit B geschossen wurden.", "Quelles séances sont A, lesquelles B ? Appuyez sur les deux si les volées impaires d’une séance sont A et les paires B.";
    SetA: "A", "A", "A";
    SetB: "B", "B", "B";
    SplitBy: "Fill A and B by kit or date", "A und B nach Material oder Datum füllen", "Remplir A et B par matériel ou date";
    SplitByHand: "by hand", "von Hand", "à la main";
    SplitAt: "A: before {0} · B: from then on", "A: vor {0} · B: ab dann", "A : avant {0} · B : ensuite";
    InTurn: "Shot in turn, an end with A, an end with B?", "Im Wechsel geschossen, eine Passe A, eine Passe B?", "Tirées à tour de rôle, une volée A, une volée B ?";
    InTurnNo: "no", "nein", "non";
    InTurnYes: "yes: compare pair by pair", "ja: Paar für Paar vergleichen", "oui : comparer paire par paire";
    CompareChoose: "Choose one session or more for A and for B.", "Je eine oder mehr Einheiten für A und B wählen.", "Choisissez au moins une séance pour A et pour B.";
    CompareTighter: "B is tighter than A, {0}.", "B ist enger als A, {0}.", "B est plus serré que A, {0}.";
    CompareWider: "B is wider than A, {0}.", "B ist weiter als A, {0}.", "B est plus large que A, {0}.";
    ComparePerhapsTighter: "B is perhaps tighter than A ({0}); that is not settled.", "B ist vielleicht enger als A ({0}); das ist nicht geklärt.", "B est peut-être plus serré que A ({0}) ; ce n’est pas tranché.";
    ComparePerhapsWider: "B is perhaps wider than A ({0}); that is not settled.", "B ist vielleicht weiter als A ({0}); das ist nicht geklärt.", "B est peut-être plus large que A ({0}) ; ce n’est pas tranché.";
    CompareNone: "No difference of spread can be told ({0} at best).", "Kein Unterschied der Streuung zu erkennen (höchstens {0}).", "Aucune différence de dispersion à voir ({0} au mieux).";
    CompareSet: "{0}: {1} {1|shot|shots} in {2} {2|end|ends}, a clean shot scatters by {3} at {4} ({5}); about {6} {6|flyer|flyers}.", "{0}: {1} {1|Schuss|Schüsse} in {2} {2|Passe|Passen}, ein sauberer Schuss streut um {3} auf {4} ({5}); etwa {6} Ausreißer.", "{0} : {1} {1/tir/tirs} en {2} {2/volée/volées}, un tir propre se disperse de {3} à {4} ({5}) ; environ {6} {6/écart/écarts}.";
    ComparePaired: "Pair by pair B is {0} ({1} to {2}, 9 times in 10); tighter with {3}.", "Paar für Paar ist B {0} ({1} bis {2}, 9 von 10 Malen); enger zu {3}.", "Paire par paire, B est {0} ({1} à {2}, 9 fois sur 10) ; plus serré à {3}.";
    CompareAll: "All ends together B is {0} ({1} to {2}, 9 times in 10); tighter with {3}.", "Alle Passen zusammen ist B {0} ({1} bis {2}, 9 von 10 Malen); enger zu {3}.", "Toutes les volées ensemble, B est {0} ({1} à {2}, 9 fois sur 10) ; plus serré à {3}.";
    CompareTurns: "If all of A was shot before all of B, fatigue, light or wind may be the difference: shoot them in turn, end by end.", "Wurde erst alles mit A, dann alles mit B geschossen, kann der Unterschied Ermüdung, Licht oder Wind sein: Passe für Passe abwechseln.", "Si tout A a été tiré avant tout B, la fatigue, la lumière ou le vent peuvent faire la différence : alternez volée par volée.";
    CompareDistances: "The sessions are of different distances: spreads are compared as angles.", "Die Einheiten sind auf verschiedene Entfernungen: Streuungen werden als Winkel verglichen.", "Les séances sont à des distances différentes : les dispersions sont comparées en angle.";
    ByTighter: "{0} % tighter", "{0} % enger", "{0} % plus serré";
    ByWider: "{0} % wider", "{0} % weiter", "{0} % plus large";
    BySame: "the same", "gleich weit", "pareil";
    CentresApart: "The centre of B is {0} of that of A (chance of so much without a cause: {1}). If the sight was moved in between, that says nothing.", "Die Mitte von B liegt {0} von der von A (Chance dafür ohne Grund: {1}). Wurde dazwischen das Visier gestellt, sagt das nichts.", "Le centre de B est à {0} de celui de A (chance d’un tel écart sans cause : {1}). Si le viseur a bougé entre-temps, cela ne dit rien.";
    CentresSame: "The centres cannot be told apart (chance of so much without a cause: {0}).", "Die Mitten sind nicht zu unterscheiden (Chance dafür ohne Grund: {0}).", "Les centres ne se distinguent pas (chance d’un tel écart sans cause : {0}).";
    CompareAxes: "Windage {0}, elevation {1}.", "Seite: {0}, Höhe: {1}.", "En latéral {0}, en hauteur {1}.";
    ComparePicture: "Both groups as you see them: rounds are A, diamonds are B. Each ring holds 4 clean shots in 5 of an end.", "Beide Gruppen, wie du sie siehst: Kreise sind A, Rauten sind B. Jeder Ring hält 4 von 5 sauberen Schüssen einer Passe.", "Les deux groupes, vus de l’archer : ronds A, losanges B. Chaque anneau contient 4 tirs propres sur 5 d’une volée.";
    PowerTitle: "How many arrows it takes", "Wie viele Pfeile es braucht", "Combien de flèches il faut";
    PowerNeeded: "To tell spreads {0} apart with a chance of {1} takes about {2} arrows of each setting; six arrows cannot.", "Um Streuungen, die {0} auseinanderliegen, mit {1} Chance zu unterscheiden, braucht es etwa {2} Pfeile von jeder Sorte; sechs Pfeile können es nicht.", "Pour distinguer des dispersions qui diffèrent de {0}, avec {1} de chances, il faut environ {2} flèches de chaque ; six flèches n’y suffisent pas.";
    PowerPicture: "Chance to find a difference, against the arrows of each setting. With your {0} (upright line): {1}.", "Chance, einen Unterschied zu finden, gegen die Pfeile von jeder Sorte. Mit deinen {0} (senkrechte Linie): {1}.", "Chance de trouver une différence, selon le nombre de flèches de chaque. Avec vos {0} (trait vertical) : {1}.";
    PowerAxis: "arrows of each setting", "Pfeile von jeder Sorte", "flèches de chaque";

    // Tuning.
    TuneTitle: "Tuning", "Abstimmung", "Réglage de l’arc";
    TuneHelp: "Which sessions are of fletched arrows, which of bareshafts? Press both where both kinds were shot, then say which arrows are bare. Leave the sight alone between the two.", "Welche Einheiten sind mit befiederten Pfeilen, welche mit Rohschäften? Beides drücken, wo beide Arten geschossen wurden, dann sagen, welche Pfeile roh sind. Dazwischen das Visier nicht stellen.", "Quelles séances sont à flèches empennées, lesquelles à tubes nus ? Appuyez sur les deux si les deux sortes ont été tirées, puis dites quelles flèches sont nues. Ne touchez pas au viseur entre-temps.";
    Fletched: "fletched", "befiedert", "empennées";
    Bare: "bare", "roh", "nues";
    BareWhich: "These arrows are bare", "Diese Pfeile sind roh", "Ces flèches sont nues";
    BareTitle: "Bareshafts against fletched", "Rohschäfte gegen befiederte", "Tubes nus contre empennées";
    BareChoose: "Choose {0} arrows or more of each kind at one distance.", "Von jeder Art {0} oder mehr Pfeile auf eine Entfernung wählen.", "Choisissez au moins {0} flèches de chaque sorte à une même distance.";
    BareLands: "At {0} the bareshafts land {1} of the fletched, give or take {2}.", "Auf {0} treffen die Rohschäfte {1} von den befiederten, auf {2} genau.", "À {0}, les tubes nus arrivent {1} des empennées, à {2} près.";
    BareAgree: "The distances agree (chance of such a difference: {0}).", "Die Entfernungen stimmen überein (Chance für so einen Unterschied: {0}).", "Les distances s’accordent (chance d’une telle différence : {0}).";
    BareDisagree: "The distances disagree (chance of that: {0}): speed, clearance or the wind may be at work.", "Die Entfernungen widersprechen sich (Chance dafür: {0}): Geschwindigkeit, Freigang oder Wind könnten mitspielen.", "Les distances se contredisent (chance : {0}) : vitesse, dégagement ou vent y sont peut-être pour quelque chose.";
    BareSure: "They land {0} with {1}, {2} with {3}.", "Sie treffen {0} zu {1}, {2} zu {3}.", "Elles arrivent {0} à {1}, {2} à {3}.";
    BarePicture: "Where the bareshafts land, the fletched arrows in the middle, as you see it. Each ring holds the truth 4 times in 5.", "Wo die Rohschäfte treffen, die befiederten in der Mitte, wie du es siehst. In jedem Ring liegt die Wahrheit 4 von 5 Malen.", "Où arrivent les tubes nus, les empennées au milieu, vu de l’archer. Chaque anneau contient le vrai 4 fois sur 5.";
    BareNothing: "Nothing to suggest yet: more arrows of both would tell.", "Noch nichts zu raten: mehr Pfeile von beiden würden es sagen.", "Rien à suggérer encore : il faudrait plus de flèches des deux.";
    BareHand: "What left and right suggest depends on the hand that draws: say it in the kit.", "Was links und rechts bedeuten, hängt von der Zughand ab: im Material angeben.", "Ce que disent gauche et droite dépend de la main qui tire : indiquez-la dans le matériel.";
    BareSafety: "A bareshaft flies wild: shoot it close, at a large butt with a clear overshoot area, and inspect it before every shot.", "Ein Rohschaft fliegt unruhig: nah auf eine große Scheibe mit freiem Raum dahinter schießen und vor jedem Schuss prüfen.", "Un tube nu vole mal : tirez de près, sur une grande butte avec une zone libre derrière, et inspectez-le avant chaque tir.";
    Possible: "Possible: {0} ({1}).", "Möglich: {0} ({1}).", "Possible : {0} ({1}).";
    ActsStiff: "the shaft acts too stiff (a softer button, more draw weight or a heavier point go the other way)", "der Schaft wirkt zu steif (weicherer Button, mehr Zuggewicht oder schwerere Spitze wirken entgegen)", "le tube paraît trop raide (bouton plus souple, plus de puissance ou pointe plus lourde vont dans l’autre sens)";
    ActsWeak: "the shaft acts too weak (a stiffer button, less draw weight or a lighter point go the other way)", "der Schaft wirkt zu weich (härterer Button, weniger Zuggewicht oder leichtere Spitze wirken entgegen)", "le tube paraît trop souple (bouton plus dur, moins de puissance ou pointe plus légère vont dans l’autre sens)";
    NockLow: "the nocking point is low (raise it a little)", "der Nockpunkt sitzt tief (etwas höher setzen)", "le point d’encochage est bas (remontez-le un peu)";
    NockHigh: "the nocking point is high (lower it a little)", "der Nockpunkt sitzt hoch (etwas tiefer setzen)", "le point d’encochage est haut (baissez-le un peu)";
    TunePractice: "Common practice, no source: possibilities for this hand, never verdicts. Form, clearance and wind make the same pictures; change one thing at a time, and shoot again.", "Übliche Praxis, ohne Quelle: Möglichkeiten für diese Hand, keine Urteile. Form, Freigang und Wind machen dieselben Bilder; immer nur eines ändern und wieder schießen.", "Pratique courante, sans source : des possibilités pour cette main, jamais des verdicts. La forme, le dégagement et le vent font les mêmes images ; ne changez qu’une chose à la fois, et retirez.";
    WalkTitle: "Groups that walk with distance", "Gruppen, die mit der Entfernung wandern", "Groupes qui dérivent avec la distance";
    WalkChoose: "Choose fletched sessions at two distances or more, {0} arrows or more each, shot with one windage setting.", "Befiederte Einheiten auf zwei oder mehr Entfernungen wählen, je {0} oder mehr Pfeile, mit einer Seiteneinstellung geschossen.", "Choisissez des séances empennées à deux distances ou plus, {0} flèches ou plus chacune, avec un seul réglage latéral.";
    WalkTouched: "Windage was moved in one of these sessions: the walk holds only if all end with the same windage.", "In einer dieser Einheiten wurde die Seite gestellt: das Wandern gilt nur, wenn alle mit derselben Seite enden.", "Le latéral a bougé dans une de ces séances : la dérive ne vaut que si toutes finissent au même réglage.";
    WalkStays: "The groups stay on the line at every distance.", "Die Gruppen bleiben auf jede Entfernung auf der Linie.", "Les groupes restent sur la ligne à toute distance.";
    WalkWindage: "One windage setting puts every distance right.", "Eine Seiteneinstellung stimmt auf jede Entfernung.", "Un seul réglage latéral convient à toute distance.";
    WalkSlant: "The groups walk along a slanting line that no windage setting puts right.", "Die Gruppen wandern auf einer schrägen Linie, die keine Seiteneinstellung richtet.", "Les groupes dérivent le long d’une ligne oblique qu’aucun réglage latéral ne corrige.";
    WalkCurve: "The groups walk along a curve.", "Die Gruppen wandern auf einer Kurve.", "Les groupes dérivent le long d’une courbe.";
    WalkAsWindage: "As a windage error alone: {0} {1}, give or take {2}; chance of groups this far off that: {3}.", "Als reiner Seitenfehler: {0} {1}, auf {2} genau; Chance für Gruppen so weit daneben: {3}.", "Comme simple erreur latérale : {0} {1}, à {2} près ; chance de groupes aussi éloignés : {3}.";
    WalkMoveWindage: "Move the windage; nothing speaks for the button or the centre shot.", "Die Seite stellen; nichts spricht für Button oder Mittelschuss.", "Réglez le latéral ; rien n’accuse le bouton ni l’alignement.";
    WalkMaybeCentreShot: "Possible: the centre shot (the button’s place), or a sight bar that does not run along the arrow.", "Möglich: der Mittelschuss (Lage des Buttons) oder eine Visierschiene, die nicht längs des Pfeils läuft.", "Possible : l’alignement (place du bouton), ou une barre de viseur qui n’est pas parallèle à la flèche.";
    WalkMaybeButton: "Possible: the button’s stiffness, the spine, or a steady side wind.", "Möglich: die Härte des Buttons, der Spine oder steter Seitenwind.", "Possible : la dureté du bouton, le spine, ou un vent de côté constant.";
    WalkThird: "Two distances cannot tell a line from a curve; a third one can.", "Zwei Entfernungen unterscheiden Linie und Kurve nicht; eine dritte schon.", "Deux distances ne distinguent pas une ligne d’une courbe ; une troisième, si.";
    WalkPicture: "The groups from above, the bow at the bottom. The dotted line is what one windage setting would put right; each bar holds the truth 4 times in 5.", "Die Gruppen von oben, der Bogen unten. Die gepunktete Linie richtet eine Seiteneinstellung; in jedem Balken liegt die Wahrheit 4 von 5 Malen.", "Les groupes vus d’en haut, l’arc en bas. Un réglage latéral corrige la ligne pointillée ; chaque barre contient le vrai 4 fois sur 5.";

    // Aids at the line.
    AidsTitle: "Wind, slope, wrong mark", "Wind, Hang, falsche Marke", "Vent, pente, mauvais repère";
    WindTitle: "Wind", "Wind", "Vent";
    WindSpeed: "Speed of the wind", "Windgeschwindigkeit", "Vitesse du vent";
    WindFrom: "It comes from, as on a clock (12 is the target)", "Er kommt von, wie auf der Uhr (12 ist das Ziel)", "Il vient de, comme sur l’horloge (12 est la cible)";
    WindLands: "At {0} this wind lands an arrow aimed for still air {1}.", "Auf {0} trifft ein für Windstille gezielter Pfeil in diesem Wind {1}.", "À {0}, ce vent fait arriver une flèche visée pour air calme {1}.";
    WindAim: "Aim off: {0}. Or move the sight: {1}; the arrows then land {2}. Each m/s more across moves the arrow by {3}.", "Vorhalten: {0}. Oder das Visier stellen: {1}; dann treffen die Pfeile {2}. Jeder m/s mehr von der Seite verschiebt den Pfeil um {3}.", "Visez : {0}. Ou réglez le viseur : {1} ; les flèches arrivent alors {2}. Chaque m/s de travers en plus déplace la flèche de {3}.";
    WindRule: "A wind that comes and goes is aimed off; a steady one may be dialled in, and is dialled out again at the next distance.", "Wind, der kommt und geht, wird vorgehalten; steter darf eingestellt werden und wird vor der nächsten Entfernung wieder herausgenommen.", "Un vent qui va et vient se compense à la visée ; un vent constant peut se régler, et se retire à la distance suivante.";
    SlopeTitle: "Slope", "Hang", "Pente";
    SlopeAngle: "Angle, uphill positive", "Winkel, bergauf positiv", "Angle, montée positive";
    SlopeMark: "{0} at {1}°: mark {2} (4 in 5 between {3} and {4}).", "{0} bei {1}°: Marke {2} (4 von 5 zwischen {3} und {4}).", "{0} à {1}° : repère {2} (4 sur 5 entre {3} et {4}).";
    SlopeLevel: "That is the mark of {0} on the level; on the level {1} would be {2}.", "Das ist die Marke von {0} in der Ebene; in der Ebene wäre {1} {2}.", "C’est le repère de {0} à plat ; à plat, {1} serait {2}.";
    SlopeCosine: "The rule of the cosine says {0}: with its mark the arrow would land {1}.", "Die Kosinusregel sagt {0}: mit deren Marke träfe der Pfeil {1}.", "La règle du cosinus dit {0} : avec son repère la flèche arriverait {1}.";
    SlopeBend: "A draw that changes with the slope changes the mark too: bend at the waist.", "Ein Auszug, der sich am Hang ändert, ändert auch die Marke: in der Hüfte beugen.", "Une allonge qui change avec la pente change aussi le repère : pliez à la taille.";
    WrongTitle: "The wrong mark?", "Die falsche Marke?", "Le mauvais repère ?";
    WrongHeight: "How high the group lies (low is negative)", "Wie hoch die Gruppe liegt (tief ist negativ)", "Hauteur du groupe (bas est négatif)";
    WrongNot: "A group {0} at {1} does not look like one of the other marks.", "Eine Gruppe {0} auf {1} sieht nicht nach einer der anderen Marken aus.", "Un groupe {0} à {1} ne ressemble à aucun des autres repères.";
    WrongMarkIs: "This looks like the {0} mark at {1} ({2}): it would put the group {3}. The mark for {1} is {4}. Read the scale before you move the sight.", "Das sieht nach der {0}-Marke auf {1} aus ({2}): sie brächte die Gruppe {3}. Die Marke für {1} ist {4}. Erst die Skala ablesen, dann stellen.", "On dirait le repère de {0} à {1} ({2}) : il mettrait le groupe {3}. Le repère de {1} est {4}. Lisez l’échelle avant de régler.";
    RefinedClicks: "Through the arrow’s flight it is {0}; the rule of thumb says {1}.", "Durch den Flug des Pfeils sind es {0}; die Faustregel sagt {1}.", "Par le vol de la flèche c’est {0} ; la règle simple dit {1}.";

    // Archers.
    ArcherName: "Name", "Name", "Nom";
    NewArcher: "New archer", "Neuer Schütze", "Nouvel archer";
    CurrentArcher: "Shooting now: {0}", "Schießt gerade: {0}", "Au tir : {0}";
    Hand: "Draws with", "Zieht mit", "Tire de la main";
    RightHand: "right hand", "rechter Hand", "droite";
    LeftHand: "left hand", "linker Hand", "gauche";
    Sessions: "Sessions", "Einheiten", "Séances";

    // Settings.
    LanguageName: "Language", "Sprache", "Langue";
    LanguageNotHere: "{0} could not be fetched: try again with a connection.", "{0} konnte nicht geholt werden: versuche es mit Netz noch einmal.", "{0} n’a pas pu être chargé : réessaie avec une connexion.";
    Units: "Units", "Einheiten", "Unités";
    Metric: "Metres", "Meter", "Mètres";
    Imperial: "Yards", "Yards", "Yards";
    Theme: "Look", "Aussehen", "Apparence";
    ThemeAuto: "as the device", "wie das Gerät", "comme l’appareil";
    ThemeLight: "light, for sun", "hell, für Sonne", "clair, pour le soleil";
    ThemeDark: "dark", "dunkel", "sombre";
    HoldHand: "Hand that holds the phone", "Hand am Telefon", "Main qui tient le téléphone";
    Data: "Your data", "Deine Daten", "Vos données";
    StorageKept: "The browser has promised to keep the log.", "Der Browser hat zugesagt, das Protokoll zu behalten.", "Le navigateur s’engage à garder le journal.";
    StorageNotKept: "The browser may delete the log when space runs short. Export it now and then, or put the app on the home screen.", "Der Browser darf das Protokoll bei Platzmangel löschen. Ab und zu exportieren oder die App auf den Startbildschirm legen.", "Le navigateur peut effacer le journal si la place manque. Exportez-le parfois, ou installez l’app sur l’écran d’accueil.";
    Export: "Export everything", "Alles exportieren", "Tout exporter";
    Import: "Import a file", "Datei importieren", "Importer un fichier";
    Imported: "{0} records came in.", "{0} Einträge übernommen.", "{0} entrées importées.";
    ImportFailed: "The file could not be read: {0}", "Die Datei war nicht lesbar: {0}", "Fichier illisible : {0}";
    Unreadable: "{0} records could not be read; they are left as they are.", "{0} Einträge waren nicht lesbar; sie bleiben, wie sie sind.", "{0} entrées illisibles ; elles restent telles quelles.";
    Records: "{0} records in the log.", "{0} Einträge im Protokoll.", "{0} entrées dans le journal.";
    Sync: "Sync with a server", "Mit Server abgleichen", "Synchroniser avec un serveur";
    SyncNone: "Nothing has been exchanged with a server.", "Es wurde nichts mit einem Server ausgetauscht.", "Rien n’a été échangé avec un serveur.";
    SyncLogIn: "The server wants a name and a password.", "Der Server will Namen und Passwort.", "Le serveur demande un nom et un mot de passe.";
    SyncNow: "Sync now", "Jetzt abgleichen", "Synchroniser";
    SyncDone: "In step with the server ({0}).", "Abgeglichen ({0}).", "À jour avec le serveur ({0}).";
    SyncOffline: "The server cannot be reached; everything stays here until it can.", "Server nicht erreichbar; bis dahin bleibt alles hier.", "Serveur injoignable ; tout reste ici d’ici là.";
    SyncApart: "Not everything is in step; what is not stands below.", "Nicht alles ist abgeglichen; was nicht, steht unten.", "Tout n’est pas à jour ; ce qui ne l’est pas est ci-dessous.";
    SyncAside: "{0}: {1} records are set aside, each with its reason; the rest was exchanged and nothing is lost.", "{0}: {1} Einträge sind beiseitegelegt, jeder mit seinem Grund; der Rest wurde ausgetauscht, verloren ist nichts.", "{0} : {1} entrées sont mises de côté, chacune avec sa raison ; le reste a été échangé, rien n’est perdu.";
    SyncDiffers: "{0}: this device and the server differ although everything was exchanged. Export the log and tell whoever runs the server.", "{0}: Gerät und Server unterscheiden sich, obwohl alles ausgetauscht wurde. Exportiere das Protokoll und sag es dem, der den Server betreibt.", "{0} : cet appareil et le serveur diffèrent bien que tout ait été échangé. Exporte le journal et préviens la personne qui gère le serveur.";
    SyncUnsent: "{0}: you read this log. What was written into it here is not sent; ask its archer to let you write.", "{0}: Du liest dieses Protokoll. Was hier hineingeschrieben wurde, wird nicht gesendet; bitte den Schützen um das Schreibrecht.", "{0} : tu lis ce journal. Ce qui y a été écrit ici n’est pas envoyé ; demande à l’archer le droit d’écrire.";
    SyncErased: "{0}: its archer has erased this log from the server. What is here stays on this device and is sent nowhere any more.", "{0}: Dieses Protokoll wurde auf dem Server für immer gelöscht. Was hier ist, bleibt auf diesem Gerät und wird nirgendwohin gesendet.", "{0} : ce journal a été effacé du serveur par son archer. Ce qui est ici reste sur cet appareil et n’est plus envoyé.";
    SyncNotYours: "{0}: the server does not give this log to you: it is another account’s, or you may no longer read it.", "{0}: Der Server gibt dir dieses Protokoll nicht: Es gehört einem anderen Konto, oder du darfst es nicht mehr lesen.", "{0} : le serveur ne te donne pas ce journal : il est à un autre compte, ou tu n’as plus le droit de le lire.";
    SyncLogRefused: "{0}: the server refused: {1}", "{0}: Der Server lehnte ab: {1}", "{0} : le serveur a refusé : {1}";
    SyncUnfinished: "{0}: not done yet; it goes on by itself.", "{0}: noch nicht fertig; es geht von selbst weiter.", "{0} : pas encore terminé ; cela continue tout seul.";
    LeaveLog: "Leave this log", "Dieses Protokoll verlassen", "Quitter ce journal";
    LeaveLogSure: "Leave it: its copy goes from this device, its archer keeps it", "Verlassen: Die Kopie geht von diesem Gerät, der Schütze behält es", "Quitter : la copie disparaît d’ici, l’archer le garde";
    TakeUpLog: "Take up a log again that was left", "Ein verlassenes Protokoll wieder aufnehmen", "Reprendre un journal quitté";
    ChangedApart: "Two devices changed the same {0} time(s) without knowing of each other. The later one was kept.", "Zwei Geräte haben {0}-mal dasselbe geändert, ohne voneinander zu wissen. Die spätere Fassung gilt.", "Deux appareils ont modifié {0} fois la même chose sans le savoir. La version la plus récente est gardée.";
    ChangedApartOne: "Kept: the one of {0}. The other, of {1}, is here.", "Es gilt die von {0}. Die andere, von {1}, ist hier.", "Gardée : celle de {0}. L’autre, de {1}, est ici.";
    UseOther: "Use the other", "Die andere nehmen", "Prendre l’autre";
    ClaimAsk: "You are signed in. The logs on this device were kept by nobody who was: which of them belong to your account? Only those are sent. The others stay on this device and are there again after signing out.", "Du bist angemeldet. Die Protokolle auf diesem Gerät gehören noch niemandem: Welche davon gehören zu deinem Konto? Nur diese werden gesendet. Die anderen bleiben auf dem Gerät und sind nach dem Abmelden wieder da.", "Tu es connecté. Les journaux de cet appareil ne sont encore à personne : lesquels sont à ton compte ? Seuls ceux-là sont envoyés. Les autres restent sur l’appareil et reviennent après la déconnexion.";
    ClaimThese: "These are mine", "Diese sind meine", "Ceux-ci sont à moi";
    ClaimNone: "None of them is mine", "Keines davon ist meines", "Aucun n’est à moi";
    SyncOther: "The logs here are those of {0}, and the server knows you as somebody else: nothing is exchanged. Sign out first.", "Die Protokolle hier sind die von {0}, und der Server kennt dich als jemand anderen: Es wird nichts ausgetauscht. Melde dich zuerst ab.", "Les journaux d’ici sont ceux de {0}, et le serveur te connaît comme quelqu’un d’autre : rien n’est échangé. Déconnecte-toi d’abord.";
    SignedInAs: "Signed in here: {0}", "Hier angemeldet: {0}", "Connecté ici : {0}";
    SignOutAsk: "What stays on this device?", "Was bleibt auf diesem Gerät?", "Que reste-t-il sur cet appareil ?";
    SignOutUnsent: "What stays on this device? Not everything is known to be on the server: what is taken off here may be lost.", "Was bleibt auf diesem Gerät? Es ist nicht sicher, dass alles auf dem Server ist: Was hier entfernt wird, kann verloren sein.", "Que reste-t-il sur cet appareil ? Tout n’est peut-être pas sur le serveur : ce qui est retiré ici peut être perdu.";
    SignOutKeep: "Sign out, keep my logs here for the next time", "Abmelden, meine Protokolle bleiben bis zum nächsten Mal hier", "Se déconnecter, garder mes journaux ici";
    SignOutWipe: "Sign out and take my logs off this device", "Abmelden und meine Protokolle von diesem Gerät entfernen", "Se déconnecter et retirer mes journaux d’ici";
    UndoOther: "Another device has changed this since; it stays as it is.", "Ein anderes Gerät hat das seither geändert; es bleibt so.", "Un autre appareil l’a modifié depuis ; cela reste ainsi.";
    SyncRefused: "The server refused: {0}", "Der Server lehnte ab: {0}", "Le serveur a refusé : {0}";
    SignIn: "Sign in", "Anmelden", "Se connecter";
    SignOut: "Sign out", "Abmelden", "Se déconnecter";
    Password: "Password", "Passwort", "Mot de passe";
    // The account.
    Account: "Account", "Konto", "Compte";
    AccountLink: "Account, coaches, devices", "Konto, Trainer, Geräte", "Compte, entraîneurs, appareils";
    AccountNobody: "Nobody is signed in on this device. Everything works without an account; with one, your log is on all your devices, and coaches whom you invite can read it.", "Auf diesem Gerät ist niemand angemeldet. Alles geht auch ohne Konto; mit einem ist dein Protokoll auf all deinen Geräten, und Trainer, die du einlädst, können es lesen.", "Personne n’est connecté sur cet appareil. Tout marche sans compte ; avec un compte, ton journal est sur tous tes appareils, et les entraîneurs que tu invites peuvent le lire.";
    AccountOpen: "This server has no accounts: whoever sits at this machine may do everything.", "Dieser Server hat keine Konten: Wer an diesem Rechner sitzt, darf alles.", "Ce serveur n’a pas de comptes : qui est devant cette machine peut tout faire.";
    SignedInName: "Signed in: {0}", "Angemeldet: {0}", "Connecté : {0}";
    LogsHere: "Logs on this device", "Protokolle auf diesem Gerät", "Journaux sur cet appareil";
    LogNobodys: "nobody’s: it is sent nowhere", "gehört niemandem: wird nirgendwohin gesendet", "à personne : n’est envoyé nulle part";
    LogYours: "yours", "deines", "le tien";
    LogRead: "you read it", "du liest es", "tu le lis";
    LogWritten: "you read and write it", "du liest und schreibst es", "tu le lis et l’écris";
    KeptFor: "signed out: its logs are kept here, unseen until it signs in again", "abgemeldet: Seine Protokolle bleiben hier, ungesehen bis zur nächsten Anmeldung", "déconnecté : ses journaux restent ici, cachés jusqu’à la prochaine connexion";
    RemoveHere: "Remove from this device", "Von diesem Gerät entfernen", "Retirer de cet appareil";
    RemoveHereSure: "Remove: the server keeps it", "Entfernen: Der Server behält es", "Retirer : le serveur le garde";
    RemoveHereLost: "Remove for good: not all of it is known to be anywhere else", "Endgültig entfernen: Es ist nicht sicher, dass alles auch anderswo ist", "Retirer pour de bon : tout n’est peut-être pas ailleurs";
    RemovedHere: "The log is no longer on this device.", "Das Protokoll ist nicht mehr auf diesem Gerät.", "Le journal n’est plus sur cet appareil.";
    RecordsOf: "{0} records", "{0} Einträge", "{0} entrées";
    WhoSees: "Who sees my logs", "Wer meine Protokolle sieht", "Qui voit mes journaux";
    NoLogsThere: "You have no log on this server yet: shoot, and sync.", "Du hast noch kein Protokoll auf diesem Server: Schieße und gleiche ab.", "Tu n’as pas encore de journal sur ce serveur : tire, puis synchronise.";
    NobodySees: "Nobody else sees it.", "Niemand sonst sieht es.", "Personne d’autre ne le voit.";
    CoachReads: "{0} reads it, since {1}", "{0} liest es, seit {1}", "{0} le lit, depuis {1}";
    CoachWrites: "{0} reads and writes it, since {1}", "{0} liest und schreibt es, seit {1}", "{0} le lit et l’écrit, depuis {1}";
    OpenRead: "An open invitation to read, until {0}", "Eine offene Einladung zum Lesen, bis {0}", "Une invitation à lire, ouverte jusqu’au {0}";
    OpenWrite: "An open invitation to read and write, until {0}", "Eine offene Einladung zum Lesen und Schreiben, bis {0}", "Une invitation à lire et écrire, ouverte jusqu’au {0}";
    TakeBack: "Take back", "Zurücknehmen", "Reprendre";
    TakeBackSure: "Take back: nothing new is shown from now on", "Zurücknehmen: Ab jetzt wird nichts Neues gezeigt", "Reprendre : rien de nouveau ne sera montré";
    InviteRead: "Invite a coach to read", "Trainer zum Lesen einladen", "Inviter à lire";
    InviteWrite: "Invite to read and write", "Zum Lesen und Schreiben einladen", "Inviter à lire et écrire";
    InviteHand: "Hand this to your coach: the picture, the link or the code. It works once, until {0}.", "Gib das deinem Trainer: das Bild, den Link oder den Code. Es gilt einmal, bis {0}.", "Donne ceci à ton entraîneur : l’image, le lien ou le code. Valable une fois, jusqu’au {0}.";
    InvitePicture: "Picture to scan, with the link of the invitation", "Bild zum Scannen mit dem Link der Einladung", "Image à scanner, avec le lien de l’invitation";
    CopyLink: "Copy the link", "Link kopieren", "Copier le lien";
    Copied: "Copied.", "Kopiert.", "Copié.";
    AcceptTitle: "Accept an invitation", "Eine Einladung annehmen", "Accepter une invitation";
    AcceptSignIn: "You have an invitation: sign in, then accept it.", "Du hast eine Einladung: Melde dich an, dann nimm sie an.", "Tu as une invitation : connecte-toi, puis accepte-la.";
    InviteCode: "Code of the invitation", "Code der Einladung", "Code de l’invitation";
    Accept: "Accept", "Annehmen", "Accepter";
    AcceptedRead: "From now on you read a log of {0}.", "Ab jetzt liest du ein Protokoll von {0}.", "Désormais tu lis un journal de {0}.";
    AcceptedWrite: "From now on you read and write a log of {0}.", "Ab jetzt liest und schreibst du ein Protokoll von {0}.", "Désormais tu lis et écris un journal de {0}.";
    AcceptNone: "There is no such invitation: it was used, was taken back, has ended, or is to your own log. Ask for a new one.", "Diese Einladung gibt es nicht: Sie wurde benutzt, zurückgenommen, ist abgelaufen oder gilt deinem eigenen Protokoll. Bitte um eine neue.", "Cette invitation n’existe pas : elle a servi, a été reprise, est terminée, ou concerne ton propre journal. Demandes-en une autre.";
    Browsers: "Browsers that are signed in", "Angemeldete Browser", "Navigateurs connectés";
    Programs: "Devices that sync by themselves", "Geräte, die selbst abgleichen", "Appareils qui se synchronisent seuls";
    ThisOne: "this one", "dieser", "celui-ci";
    UsedSince: "last used {0}, signed in {1}", "zuletzt benutzt {0}, angemeldet {1}", "utilisé le {0}, connecté le {1}";
    NoneOfThem: "None.", "Keine.", "Aucun.";
    EndIt: "End", "Beenden", "Terminer";
    EndItSure: "End: it has to sign in again", "Beenden: Neu anmelden wird nötig", "Terminer : il devra se reconnecter";
    LostHint: "A lost phone: end it here. What it had read stays on it for whoever can unlock it.", "Telefon verloren: Hier beenden. Was es gelesen hatte, bleibt darauf für den, der es entsperren kann.", "Téléphone perdu : termine-le ici. Ce qu’il avait lu y reste pour qui peut le déverrouiller.";
    ChangePassword: "Change the password", "Passwort ändern", "Changer le mot de passe";
    PasswordNow: "Password until now", "Passwort bis jetzt", "Mot de passe actuel";
    PasswordNew: "New password", "Neues Passwort", "Nouveau mot de passe";
    PasswordHint: "At least 10 characters, and none of the first to be guessed. All other browsers are signed out.", "Mindestens 10 Zeichen und keines, das zuerst erraten wird. Alle anderen Browser werden abgemeldet.", "Au moins 10 caractères, et pas de ceux qu’on devine d’abord. Tous les autres navigateurs sont déconnectés.";
    PasswordDevices: "End the other devices too", "Auch die anderen Geräte beenden", "Terminer aussi les autres appareils";
    PasswordSet: "The new password is set.", "Das neue Passwort gilt.", "Le nouveau mot de passe est en place.";
    PasswordWeak: "This password is too short, or among the first to be guessed. Nothing was changed.", "Dieses Passwort ist zu kurz oder wird zuerst erraten. Nichts wurde geändert.", "Ce mot de passe est trop court, ou de ceux qu’on devine d’abord. Rien n’a changé.";
    PasswordWrong: "The name or the password is wrong.", "Name oder Passwort ist falsch.", "Le nom ou le mot de passe est faux.";
    PasswordIsWrong: "The password is wrong.", "Das Passwort ist falsch.", "Le mot de passe est faux.";
    CodeNeeded: "This account has a second factor: enter its code too.", "Dieses Konto hat einen zweiten Faktor: Gib auch seinen Code ein.", "Ce compte a un second facteur : entre aussi son code.";
    CodeWrong: "The code is wrong or was used before: wait for the next one, and look whether the clock is right.", "Der Code ist falsch oder schon benutzt: Warte auf den nächsten, und prüfe die Uhr.", "Le code est faux ou a déjà servi : attends le suivant, et vérifie l’heure.";
    WaitSeconds: "Too many tries: wait {0} seconds.", "Zu viele Versuche: Warte {0} Sekunden.", "Trop d’essais : attends {0} secondes.";
    ServerBusy: "The server is busy: try again in a moment.", "Der Server ist beschäftigt: Versuche es gleich noch einmal.", "Le serveur est occupé : réessaie dans un instant.";
    ServerFull: "The server’s disk takes nothing more. Tell whoever runs it.", "Der Server kann nichts mehr speichern. Sag es dem, der ihn betreibt.", "Le disque du serveur est plein. Préviens la personne qui le gère.";
    GoneAlready: "It is there no more.", "Das gibt es nicht mehr.", "Cela n’existe plus.";
    Second: "Second factor", "Zweiter Faktor", "Second facteur";
    SecondOff: "Off: the password alone signs in. Switched on, signing in also takes a code of an authenticator.", "Aus: Das Passwort allein genügt. Eingeschaltet braucht das Anmelden auch einen Code eines Authenticators.", "Désactivé : le mot de passe suffit. Activé, la connexion demande aussi un code d’authentification.";
    SecondOn: "On: signing in takes a code too.", "Ein: Das Anmelden braucht auch einen Code.", "Activé : la connexion demande aussi un code.";
    SecondBegin: "Set up", "Einrichten", "Configurer";
    SecondScan: "Scan this with an authenticator, or type the key into it. Then enter the code that it shows.", "Scanne das mit einem Authenticator oder tippe den Schlüssel ein. Gib dann den Code ein, den er zeigt.", "Scanne ceci avec une app d’authentification, ou tape la clé. Entre ensuite le code affiché.";
    SecondPicture: "Picture to scan, with the key of the second factor", "Bild zum Scannen mit dem Schlüssel des zweiten Faktors", "Image à scanner, avec la clé du second facteur";
    SecondShown: "Code that it shows", "Code, den er zeigt", "Code affiché";
    SecondSwitchOn: "Switch on", "Einschalten", "Activer";
    SecondSwitchOff: "Switch off", "Ausschalten", "Désactiver";
    SecondKeep: "It is on. Keep these recovery codes where you find them without this phone: each replaces the authenticator once, and they are not shown again.", "Eingeschaltet. Bewahre diese Ersatzcodes dort auf, wo du sie ohne dieses Telefon findest: Jeder ersetzt den Authenticator einmal, und sie werden nicht noch einmal gezeigt.", "Activé. Garde ces codes de secours là où tu les trouves sans ce téléphone : chacun remplace l’app une fois, et ils ne seront plus montrés.";
    SecondEither: "Code, or a recovery code", "Code oder Ersatzcode", "Code, ou code de secours";
    SaveFile: "Save as a file", "Als Datei sichern", "Enregistrer un fichier";
    Trail: "What was done with this account", "Was mit diesem Konto geschah", "Ce qui s’est fait avec ce compte";
    TrailShow: "Show", "Zeigen", "Montrer";
    TrailLogin: "signed in", "angemeldet", "connexion";
    TrailLoginFailed: "signing in failed", "Anmelden misslungen", "connexion échouée";
    TrailLogout: "signed out", "abgemeldet", "déconnexion";
    TrailSessionEnded: "a browser was signed out", "ein Browser wurde abgemeldet", "un navigateur déconnecté";
    TrailDeviceAdded: "a device was added", "ein Gerät kam dazu", "appareil ajouté";
    TrailDeviceEnded: "a device was ended", "ein Gerät wurde beendet", "appareil terminé";
    TrailPasswordSet: "new password", "neues Passwort", "nouveau mot de passe";
    TrailSecondSet: "second factor switched on", "zweiter Faktor eingeschaltet", "second facteur activé";
    TrailSecondRemoved: "second factor switched off", "zweiter Faktor ausgeschaltet", "second facteur désactivé";
    TrailRecoveryUsed: "recovery code used", "Ersatzcode benutzt", "code de secours utilisé";
    TrailInvited: "invitation made", "Einladung gemacht", "invitation faite";
    TrailTakenBack: "invitation taken back", "Einladung zurückgenommen", "invitation reprise";
    TrailAccepted: "accepted an invitation", "Einladung angenommen", "invitation acceptée";
    TrailJoined: "a coach accepted", "ein Trainer nahm an", "un entraîneur a accepté";
    TrailRevoked: "taken back from a coach", "einem Trainer entzogen", "repris à un entraîneur";
    TrailErased: "log erased", "Protokoll gelöscht", "journal effacé";
    Erase: "Erase from the server", "Vom Server löschen", "Effacer du serveur";
    EraseWhat: "What is erased", "Was gelöscht wird", "Ce qui est effacé";
    EraseAccount: "The account and all its logs", "Das Konto und alle seine Protokolle", "Le compte et tous ses journaux";
    EraseLogOf: "The log of {0}", "Das Protokoll von {0}", "Le journal de {0}";
    EraseNote: "Erased for good, for coaches too. What is on this device stays on it; other devices set their copies aside. Export first what you want to keep.", "Endgültig, auch für Trainer. Was auf diesem Gerät ist, bleibt darauf; andere Geräte legen ihre Kopie beiseite. Exportiere vorher, was du behalten willst.", "Effacé pour de bon, aussi pour les entraîneurs. Ce qui est sur cet appareil y reste ; les autres mettent leur copie de côté. Exporte d’abord ce que tu veux garder.";
    EraseSure: "Erase for good", "Endgültig löschen", "Effacer pour de bon";
    Erased: "It is erased from the server.", "Es ist vom Server gelöscht.", "C’est effacé du serveur.";
    // A log that is only read.
    YouRead: "You read this log. {0} writes it.", "Du liest dieses Protokoll. {0} schreibt es.", "Tu lis ce journal. {0} l’écrit.";
    YouReadRefused: "You read this log and do not write it: nothing was changed.", "Du liest dieses Protokoll und schreibst es nicht: Nichts wurde geändert.", "Tu lis ce journal et ne l’écris pas : rien n’a changé.";
    ReadSession: "Read a session", "Eine Einheit lesen", "Lire une séance";
    SavedSignedOut: "Saved here, signed out", "Hier gesichert, abgemeldet", "Enregistré ici, déconnecté";
    ReadsOnly: "Read only", "Nur lesen", "Lecture seule";
    ReadBackTo: "Shoot yourself: choose another archer", "Selbst schießen: anderen Schützen wählen", "Tirer soi-même : choisir un autre archer";
    UpdateReady: "A new version is ready.", "Eine neue Version ist da.", "Une nouvelle version est prête.";
    UpdateNow: "Use it now", "Jetzt nutzen", "L’utiliser";
    Made: "Goldward is open source. It sends nothing anywhere unless you sync.", "Goldward ist quelloffen. Es sendet nichts, außer du gleichst ab.", "Goldward est libre. Rien n’est envoyé sauf si vous synchronisez.";
}
