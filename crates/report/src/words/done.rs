//! What the program says of work that is done: accounts, logs, sync; and the drawing of a face.

phrases! {
    /// A sentence about what was done, or a line of a list.
    Done:

    // Accounts.
    AccountAdded: "account {0} added", "Konto {0} angelegt", "compte {0} créé";
    AccountWithLogs: "account {0} added with {1} {1|log|logs}", "Konto {0} mit {1} {1|Protokoll|Protokollen} angelegt", "compte {0} créé avec {1} {1/journal/journaux}";
    Renamed: "{0} is called {1} from now on", "{0} heißt von jetzt an {1}", "{0} s’appelle désormais {1}";
    RemovedLogless: "account {0} removed; it had no log", "Konto {0} entfernt; es hatte kein Protokoll", "compte {0} supprimé ; il n’avait pas de journal";
    RemovedErased: "account {0} removed; {1} {1|log|logs} erased", "Konto {0} entfernt; {1} {1|Protokoll|Protokolle} gelöscht", "compte {0} supprimé ; {1} {1/journal effacé/journaux effacés}";
    RemovedKept: "account {0} removed; {1} {1|log|logs} kept, without an owner", "Konto {0} entfernt; {1} {1|Protokoll bleibt|Protokolle bleiben}, ohne Besitzer", "compte {0} supprimé ; {1} {1/journal gardé, sans propriétaire/journaux gardés, sans propriétaire}";
    PasswordSet: "password of {0} set; its browsers and devices log in anew", "Passwort von {0} gesetzt; Browser und Geräte melden sich neu an", "mot de passe de {0} enregistré ; ses navigateurs et appareils se reconnectent";
    SecondSet: "{0} is asked for a code at every login from now on. Type this into an authenticator, and log in once with it\nbefore it is closed here; --off takes it back.\n\n  secret   {1}\n  address  {2}\n\nShould the authenticator be lost, each of these works once in place of a code:\n\n  {3}", "{0} wird von jetzt an bei jeder Anmeldung nach einem Code gefragt. Das hier in eine Authenticator-App eintippen und einmal damit\nanmelden, bevor es hier geschlossen wird; --off nimmt es zurück.\n\n  Geheimnis  {1}\n  Adresse    {2}\n\nGeht die Authenticator-App verloren, gilt jeder von diesen einmal anstelle eines Codes:\n\n  {3}", "un code est désormais demandé à {0} à chaque connexion. Saisissez ceci dans une application d’authentification et connectez-vous\nune fois avec avant de fermer ; --off l’annule.\n\n  secret   {1}\n  adresse  {2}\n\nSi l’application est perdue, chacun de ceux-ci sert une fois à la place d’un code :\n\n  {3}";
    SecondOff: "{0} is asked for the password alone from now on", "{0} wird von jetzt an nur nach dem Passwort gefragt", "seul le mot de passe est désormais demandé à {0}";
    Exported: "{0} written to {1}: {2} {2|log|logs} with {3} {3|record|records}", "{0} nach {1} geschrieben: {2} {2|Protokoll|Protokolle} mit {3} {3|Eintrag|Einträgen}", "{0} écrit dans {1} : {2} {2/journal/journaux} avec {3} {3/entrée/entrées}";
    LogGiven: "the log of {0} belongs to {1} from now on", "das Protokoll von {0} gehört von jetzt an {1}", "le journal de {0} appartient désormais à {1}";
    AccountLine: "{0}, {1} {1|device|devices}", "{0}, {1} {1|Gerät|Geräte}", "{0}, {1} {1/appareil/appareils}";
    LogLine: "log of {0}, {1} {1|record|records} ({2})", "Protokoll von {0}, {1} {1|Eintrag|Einträge} ({2})", "journal de {0}, {1} {1/entrée/entrées} ({2})";
    Nameless: "an archer without a name", "einem Schützen ohne Namen", "un archer sans nom";
    NoAccountsYet: "no accounts: a server on 127.0.0.1 is open to whoever sits at the machine", "keine Konten: ein Server auf 127.0.0.1 steht allen offen, die am Rechner sitzen", "aucun compte : un serveur sur 127.0.0.1 est ouvert à qui est devant la machine";
    WithoutOwner: "without an owner", "ohne Besitzer", "sans propriétaire";
    // Newcomers, and those under age.
    NoLink: "no link is open: goldward accounts sign-up --open makes one", "kein Link ist offen: goldward accounts sign-up --open macht einen", "aucun lien n’est ouvert : goldward accounts sign-up --open en crée un";
    LinkOpen: "a link is open: {0} more {0|account|accounts}, ends within {1} {1|day|days}; --off ends it now", "ein Link ist offen: noch {0} {0|Konto|Konten}, endet in {1} {1|Tag|Tagen}; --off beendet ihn jetzt", "un lien est ouvert : encore {0} {0/compte/comptes}, fin dans {1} {1/jour/jours} ; --off le ferme maintenant";
    LinkEnded: "newcomers come by that link no more", "über diesen Link kommt niemand mehr herein", "plus personne n’arrive par ce lien";
    NoLinkWasOpen: "no link was open", "kein Link war offen", "aucun lien n’était ouvert";
    Manages: "{0} opens and closes the link for newcomers in the app", "{0} öffnet und schließt den Link für Neue in der App", "{0} ouvre et ferme le lien des nouveaux dans l’app";
    ManagesNot: "{0} no longer opens or closes the link for newcomers in the app", "{0} öffnet und schließt den Link für Neue in der App nicht mehr", "{0} n’ouvre ni ne ferme plus le lien des nouveaux dans l’app";
    OfAge: "{0} is of age: who sees the logs is for {0} alone to say", "{0} ist volljährig: wer die Protokolle sieht, sagt {0} allein", "{0} est majeur : {0} décide seul qui voit les journaux";
    UnderAge: "{0} is under age: nobody new sees the logs until there is a guardian", "{0} ist minderjährig: niemand Neues sieht die Protokolle, bis jemand die Aufsicht hat", "{0} est mineur : personne de nouveau ne voit les journaux avant qu’il y ait un responsable";
    Guarded: "{0} is under age: {1} sees the logs and is asked before a coach does", "{0} ist minderjährig: {1} sieht die Protokolle und wird gefragt, bevor ein Trainer sie sieht", "{0} est mineur : {1} voit les journaux et on lui demande avant qu’un entraîneur les voie";
    // Logs.
    Erased: "erased: {0} {0|record|records} of {1}; copies elsewhere are not touched", "gelöscht: {0} {0|Eintrag|Einträge} von {1}; Kopien anderswo bleiben", "effacé : {0} {0/entrée/entrées} de {1} ; les copies ailleurs restent";
    Imported: "{0} {0|record|records} read, {1} of them new", "{0} {0|Eintrag|Einträge} gelesen, davon {1} neu", "{0} {0/entrée lue/entrées lues}, dont {1} {1/nouvelle/nouvelles}";
    ImportedBefore: "{0} {0|record|records} read, {1} of them new; {2} {2|was|were} taken over before and {2|stays as it is|stay as they are} now", "{0} {0|Eintrag|Einträge} gelesen, davon {1} neu; {2} {2|wurde|wurden} früher schon übernommen und {2|bleibt|bleiben}, wie {2|er ist|sie sind}", "{0} {0/entrée lue/entrées lues}, dont {1} {1/nouvelle/nouvelles} ; {2} {2/déjà reprise reste comme elle est/déjà reprises restent comme elles sont}";
    RecordsOf: "{0} {0|record|records} of {1} {1|archer|archers}", "{0} {0|Eintrag|Einträge} von {1} {1|Schützen|Schützen}", "{0} {0/entrée/entrées} de {1} {1/archer/archers}";
    AllIsWell: "all is well", "alles in Ordnung", "tout va bien";
    NothingWasChanged: "nothing was changed", "nichts wurde geändert", "rien n’a été changé";
    Copied: "copied to {0}: {1} {1|record|records}, looked at one by one", "nach {0} kopiert: {1} {1|Eintrag|Einträge}, einzeln angesehen", "copié dans {0} : {1} {1/entrée, vérifiée/entrées, vérifiées une à une}";
    NothingThere: "there is no record in it: check the name", "es ist kein Eintrag darin: den Namen prüfen", "il n’y a aucune entrée dedans : vérifiez le nom";
    RecordIs: "record {0}: {1}", "Eintrag {0}: {1}", "entrée {0} : {1}";
    RecordOfLog: "record {0} of the log of {1}: {2}", "Eintrag {0} im Protokoll von {1}: {2}", "entrée {0} du journal de {1} : {2}";
    WithoutId: "without an id", "ohne Kennung", "sans identifiant";
    NotHere: "it refers to {1} ({0}), which is not here: sync again", "verweist auf {1} ({0}), das nicht hier ist: noch einmal abgleichen", "renvoie à {1} ({0}), qui n’est pas ici : synchronisez de nouveau";
    OfAnotherKind: "it refers to {1}, which is no {0} of this archer (any more)", "verweist auf {1}, das bei diesem Schützen kein {0} (mehr) ist", "renvoie à {1}, qui n’est pas (ou plus) un {0} de cet archer";
    SameNumber: "session {0}: end {1} has two shots number {2}: delete one or renumber it", "Einheit {0}: Passe {1} hat zwei Schüsse mit der Nummer {2}: einen löschen oder umnummerieren", "séance {0} : la volée {1} a deux tirs numéro {2} : effacez-en un ou renumérotez-le";
    OfALater: "{0} {0|record was|records were} written by a later Goldward and {0|is|are} kept: update to see {0|it|them}", "{0} {0|Eintrag stammt|Einträge stammen} von einem späteren Goldward und {0|bleibt|bleiben} erhalten: zum Ansehen aktualisieren", "{0} {0/entrée vient/entrées viennent} d’un Goldward plus récent, et {0/reste gardée/restent gardées} : mettez à jour pour {0/la/les} voir";
    LogWithoutLine: "the log of {0} has no line of its own, or one that is not readable", "das Protokoll von {0} hat keine eigene Zeile, oder keine lesbare", "le journal de {0} n’a pas de ligne à lui, ou elle est illisible";
    ChangedOnDisk: "{0} is not what was written: it was changed on the disk", "{0} ist nicht, was geschrieben wurde: auf der Platte verändert", "{0} n’est pas ce qui a été écrit : changé sur le disque";
    AddsNotUp: "the log of {0} has {1} {1|record|records} that do not add up to the {2} that were taken in", "das Protokoll von {0} hat {1} {1|Eintrag|Einträge}, nicht die {2}, die aufgenommen wurden", "le journal de {0} a {1} {1/entrée/entrées}, pas les {2} qui y sont entrées";
    // How a server is reached.
    NumbersAt: "numbers at {0}", "Zahlen unter {0}", "des chiffres sur {0}";
    ThroughProxy: "browsers come through the proxy, at its https:// address: on a phone open that, and install it from the browser's menu (docs/club.md)", "Browser kommen durch den Proxy, unter dessen https://-Adresse: die am Handy öffnen und aus dem Menü des Browsers installieren (docs/club.md)", "les navigateurs passent par le proxy, à son adresse https:// : ouvrez-la sur un téléphone et installez depuis le menu du navigateur (docs/club.md)";
    OnlyHere: "only browsers on this machine reach it. For a phone: goldward accounts add NAME, then serve with --addr 0.0.0.0:8017\nin a network that you trust, or behind a proxy that speaks HTTPS, which a phone needs to install it (docs/club.md)", "nur Browser auf diesem Rechner erreichen es. Für ein Handy: goldward accounts add NAME, dann serve mit --addr 0.0.0.0:8017\nin einem Netz, dem man traut, oder hinter einem Proxy mit HTTPS, das ein Handy zum Installieren braucht (docs/club.md)", "seuls les navigateurs de cette machine y accèdent. Pour un téléphone : goldward accounts add NAME, puis serve avec --addr 0.0.0.0:8017\nsur un réseau de confiance, ou derrière un proxy en HTTPS, dont un téléphone a besoin pour l’installer (docs/club.md)";
    NoNetwork: "this machine is in no network, so that no phone reaches it", "dieser Rechner ist in keinem Netz, kein Handy erreicht ihn", "cette machine n’est sur aucun réseau, aucun téléphone n’y accède";
    FromAPhone: "from a phone in the same network:", "von einem Handy im selben Netz:", "d’un téléphone du même réseau :";
    WithoutHttps: "without HTTPS passwords cross the network unprotected, and no browser installs the app or starts it without the server;\nwhat was begun is kept on the phone all the same. docs/club.md has recipes for a proxy that speaks HTTPS", "ohne HTTPS gehen Passwörter ungeschützt durchs Netz, und kein Browser installiert die App oder startet sie ohne den Server;\nwas begonnen wurde, bleibt trotzdem auf dem Handy. docs/club.md hat Rezepte für einen Proxy mit HTTPS", "sans HTTPS les mots de passe passent en clair sur le réseau, et aucun navigateur n’installe l’app ni ne la démarre sans le serveur ;\nce qui est commencé reste gardé sur le téléphone. docs/club.md donne des recettes de proxy en HTTPS";
    InStep: "{0} {0|log|logs} in step: {1} {1|record|records} sent, {2} fetched", "{0} {0|Protokoll|Protokolle} auf gleichem Stand: {1} {1|Eintrag|Einträge} gesendet, {2} geholt", "{0} {0/journal/journaux} à jour : {1} {1/entrée envoyée/entrées envoyées}, {2} {2/reçue/reçues}";
    ChangedApart: "{0} changed on two devices apart, the later version of each was kept: {1}", "{0} auf zwei Geräten getrennt geändert, jeweils die spätere Fassung wurde behalten: {1}", "{0} {0/modifiée/modifiées} sur deux appareils, la version la plus récente a été gardée : {1}";
    // A face.
    FaceTen: "{0} cm, ten zones", "{0} cm, zehn Zonen", "{0} cm, dix zones";
    FaceSix: "{0} cm, six zones (10 to 5)", "{0} cm, sechs Zonen (10 bis 5)", "{0} cm, six zones (10 à 5)";
    FaceColumn: "{0} cm, three spots in a column (10 to 6)", "{0} cm, drei Spots untereinander (10 bis 6)", "{0} cm, trois spots en colonne (10 à 6)";
    FaceTriangle: "{0} cm, three spots in a triangle (10 to 6)", "{0} cm, drei Spots im Dreieck (10 bis 6)", "{0} cm, trois spots en triangle (10 à 6)";
    FaceCompound: "{0} cm, only the inner ten counts 10 (compound)", "{0} cm, nur die innere Zehn zählt 10 (Compound)", "{0} cm, seul le dix intérieur compte 10 (compound)";
    FaceColumnCompound: "{0} cm, three spots in a column, only the inner ten counts 10 (compound)", "{0} cm, drei Spots untereinander, nur die innere Zehn zählt 10 (Compound)", "{0} cm, trois spots en colonne, seul le dix intérieur compte 10 (compound)";
    FaceFive: "{0} cm, five colours (9, 7, 5, 3, 1)", "{0} cm, fünf Farben (9, 7, 5, 3, 1)", "{0} cm, cinq couleurs (9, 7, 5, 3, 1)";
    FaceField: "field, {0} cm (6 to 1)", "Feld, {0} cm (6 bis 1)", "campagne, {0} cm (6 à 1)";
    Dimensions: "Dimensions: {0}. The rules of the day and the judge decide.", "Maße: {0}. Es gelten die Regeln des Tages und der Kampfrichter.", "Dimensions : {0}. Le règlement du jour et l’arbitre décident.";
    HeadZone: "zone", "Zone", "zone";
    HeadColour: "colour", "Farbe", "couleur";
    HeadDiameter: "diameter", "Durchmesser", "diamètre";
    Gold: "gold", "Gold", "or";
    Red: "red", "Rot", "rouge";
    Blue: "blue", "Blau", "bleu";
    Black: "black", "Schwarz", "noir";
    White: "white", "Weiß", "blanc";
    SpotsAt: "{0} spots, centred at {1} mm of the sheet; shots are measured from their own spot.", "{0} Spots, Mitten bei {1} mm auf dem Blatt; jeder Schuss wird von seinem Spot aus gemessen.", "{0} spots, centrés à {1} mm sur la feuille ; chaque tir se mesure depuis son spot.";
    LineScores: "An arrow scores the higher zone when its shaft touches the line.", "Berührt der Schaft die Linie, zählt die höhere Zone.", "Si le tube touche le cordon, la zone supérieure compte.";
}
