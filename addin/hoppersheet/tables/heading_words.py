"""What the words of a heading mean, in English and other languages: for job lists and quotes.

``Trocknungszeit``, ``drying time`` and ``temps de séchage`` all say *dry* and *time*. Words stand
here in lower case and without accents (:func:`plain_text`). :data:`MEANINGS` is for job lists,
whose columns are sets of meanings; :func:`in_english` puts English words in place of the others,
for whoever reads headings by English rules.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

__all__ = ["MEANINGS", "WORDS", "in_english", "plain_text"]

#: Meaning -> (English words, words of other languages). A word may have several meanings.
WORDS: dict[str, tuple[str, str]] = {
    "dry": (
        "dry drying drytime",
        "secado sechage trocknung trocknungs trocken trocknen trocknungszeit trockenzeit "
        "trocknungsdauer trockendauer trocknungsstunden essiccazione asciugatura "
        "droogtijd droging",
    ),
    "time": (
        "time times drytime",
        "zeit temps tiempo duree dauer duracion tempo trocknungszeit trockenzeit "
        "trocknungsdauer trockendauer zykluszeit taktzeit droogtijd",
    ),
    "hours": (
        "hours hour hrs hr h",
        "stunden std stunde heures heure horas hora ore trocknungsstunden uur uren",
    ),
    "rate": (
        "throughput thruput rate output consumption usage",
        "durchsatz leistung massedurchsatz materialdurchsatz verbrauch materialverbrauch "
        "stundendurchsatz durchsatzleistung ausstoss durchsatzmenge debit consommation "
        "caudal consumo portata doorzet rendimiento",
    ),
    "density": (
        "density bd bulkdensity dens",
        "densite dichte densidad schuttdichte schuettdichte schuttgewicht schuettgewicht "
        "mahlgutdichte volumique densita dichtheid stortdichtheid mischdichte",
    ),
    "bulk": (
        "bulk bd bulkdensity loose",
        "schutt schuett schuttdichte schuettdichte schuttgewicht schuettgewicht apparente "
        "aparente vrac granel stortdichtheid",
    ),
    "virgin": (
        "virgin prime",
        "neuware neuwaren neumaterial neuwareanteil neuwarenanteil vierge virgen vergine",
    ),
    "regrind": (
        "regrind regrinds rg reground",
        "mahlgut mahlgutanteil mahlgutdichte mahlgutquote rebroye broye rebroyes remolido "
        "molido triturado molienda macinato maalgoed",
    ),
    "share": (
        "share content fraction portion proportion quote percentage percent pct",
        "anteil anteile massenanteil volumenanteil gewichtsanteil teneur proporcion "
        "contenido mahlgutanteil mahlgutquote neuwareanteil neuwarenanteil porcentaje "
        "pourcentage prozent taux tasa",
    ),
    "basis": (
        "basis base",
        "bezug",
    ),
    "reserve": (
        "reserve",
        "reserva zuschlag",
    ),
    "material": (
        "material resin resins polymer plastic",
        "werkstoff kunststoff rohstoff granulat matiere materiau resine resina polymere "
        "materia polimero plastico materiale materiaal",
    ),
    "job": (
        "job project order quote",
        "auftrag projekt trabajo pedido commande travail lavoro",
    ),
    "part": (
        "part parts article piece pieces product item pcs",
        "teil teile artikel pieza piezas bauteil produkt produit producto stuck stueck "
        "articulo pezzo onderdeel stuckgewicht stueckgewicht teilegewicht",
    ),
    "name": (
        "name description designation title",
        "bezeichnung nom nombre descripcion benennung",
    ),
    "number": (
        "no nr num number code ref reference n",
        "nummer id numero referencia auftragsnummer artikelnummer teilenummer anzahl nombre",
    ),
    "mass": (
        "mass weight wt weights",
        "gewicht masse poids peso gew massen stuckgewicht teilegewicht schussgewicht angussgewicht "
        "stueckgewicht massenanteil gewichtsanteil",
    ),
    "volume": (
        "volume vol volumes",
        "volumen volumenanteil",
    ),
    "size": (
        "size",
        "grosse taille tamano",
    ),
    "cavities": (
        "cavities cavity cav cavs",
        "kavitaten kavitat fachzahl nester formnester cavites empreintes cavidades",
    ),
    "shot": (
        "shot injection",
        "schuss schussgewicht inyeccion disparo moulee schot",
    ),
    "cycle": (
        "cycle",
        "zyklus takt zykluszeit taktzeit ciclo",
    ),
    "runner": (
        "runner runners sprue",
        "anguss angussgewicht carotte bebedero colada",
    ),
    "recipe": (
        "recipe blend mix mixture ratio",
        "rezept rezeptur mischung mischungsverhaltnis recette melange receta mezcla "
        "miscela mischdichte",
    ),
    "type": (
        "type grade",
        "typ tipo sorte",
    ),
}
MEANINGS: dict[str, frozenset[str]] = {}
for _meaning, _spelled in WORDS.items():
    for _word in " ".join(_spelled).split():
        MEANINGS[_word] = MEANINGS.get(_word, frozenset()) | {_meaning}

#: English words -> what other languages say for them over the columns of a quote or a catalog.
_OF_QUOTES = {
    "list price": "listenpreis katalogpreis",
    "price each": "einzelpreis stuckpreis stueckpreis",
    "price": "preis precio prix prezzo prijs",
    "unit": "unitaire unitario",
    "quantity": "menge stuckzahl stueckzahl stuck stueck stk anzahl quantite qte cantidad cant ctd "
    "quantita aantal",
    "discount": "rabatt nachlass skonto remise rabais descuento sconto korting",
    "net": "netto neto",
    "net price": "nettopreis nettobetrag gesamtpreis zeilensumme positionssumme",
    "amount": "betrag montant importe importo bedrag",
    "total": "summe gesamt gesamtsumme gesamtbetrag endsumme endbetrag somme suma totale totaal",
    "subtotal": "zwischensumme",
    "freight": "fracht frachtkosten versand versandkosten lieferung flete envio livraison "
    "transporte verpackung vracht",
    "tax": "mwst ust mehrwertsteuer mehrwertsteuersatz umsatzsteuer steuer steuersatz tva iva btw",
    "hopper": "trichter trockentrichter trocknungstrichter tremie tolva tramoggia",
    "volume": "volumen inhalt trichtervolumen nutzvolumen nennvolumen",
    "capacity": "capacite capacidad fassungsvermogen kapazitat",
    "required": "notig notiges notwendig erforderlich erforderliches benotigt benotigtes mindest "
    "requis necessaire requerido requerida necesario necesaria richiesto benodigd",
    "required volume": "volumenbedarf mindestvolumen bedarfsvolumen",
    "chosen": "gewahlt gewahlte gewahlter gewahltes ausgewahlt choisi choisie retenu retenue "
    "elegido elegida seleccionado seleccionada scelto gekozen",
    "hopper size": "trichtergrosse",
    "next": "nachste nachster nachstes nachstgrosser nachstgrossere suivant suivante siguiente",
    "below": "darunter inferieur inferieure inferior kleiner kleinere",
    "residence time": "verweilzeit haltezeit aufenthaltszeit",
    "held": "sejour residencia permanencia",
    "mixture": "gemisch",
    "model": "modell modele modelo modello",
    "press": "presse prensa spritzgiessmaschine",
    "machine": "maschine maquina macchina",
    "line": "linie ligne linea anlage",
    "reason": "grund begrundung raison motif motivo razon",
    "remark": "bemerkung bemerkungen anmerkung hinweis remarque remarques observacion "
    "observaciones nota notas kommentar commentaire comentario",
    "source": "quelle herkunft fuente origine origen",
    "dryer": "trockner sechoir secador",
    "reserve": "sicherheit sicherheitszuschlag seguridad securite",
}
_ENGLISH: dict[str, str] = {}
for _meaning, (_, _others) in WORDS.items():
    for _word in _others.split():
        _ENGLISH[_word] = f"{_ENGLISH[_word]} {_meaning}" if _word in _ENGLISH else _meaning
for _meaning, _others in _OF_QUOTES.items():
    _ENGLISH.update(dict.fromkeys(_others.split(), _meaning))
_BRACKETS = re.compile(r"([\[(][^\])]*[\])])")


def plain_text(text: str) -> str:
    """Lower case without accents, one blank for any run of blanks."""
    if not text.isascii():
        parts = unicodedata.normalize("NFKD", text)
        text = "".join(sign for sign in parts if not unicodedata.combining(sign))
    return " ".join(text.casefold().split())


@lru_cache(maxsize=16_384)
def in_english(text: str) -> str:
    """A heading with English words for those of other languages; itself where it has none.

    ``"Schüttdichte Neuware [kg/L]"`` gives ``"density bulk virgin [kg/L]"``. What stands in
    brackets, mostly a unit, stays.
    """
    parts = _BRACKETS.split(text)
    found = False
    for at in range(0, len(parts), 2):
        words = re.split(r"([^\W\d_]+)", plain_text(parts[at]))
        known = [word in _ENGLISH for word in words]
        if any(known):
            found = True
            parts[at] = "".join(_ENGLISH.get(word, word) for word in words) + " "
    return "".join(parts).strip() if found else text
