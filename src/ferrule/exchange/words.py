# ruff: noqa: RUF001, E501 - the words of other alphabets are data, and a table of words keeps an idea a line
"""The words people head columns with, and the marks they fill cells with, in the languages of the trade.

A heading is read as a set of ideas ("maker" and "number", say), each told by any of its words, and the ideas
together tell what the column means. So wordings never seen in one piece are read as well. The words are
common practice, gathered from memory; a language that is missing is a line in each table.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

__all__ = [
    "ALTERNATE",
    "ANY_MAKER",
    "AS_NEEDED",
    "CURRENCY_SIGNS",
    "FILLERS",
    "IDEAS",
    "NOTE_STARTS",
    "NOT_FITTED",
    "NO_WORDS",
    "OWN_DRAWING",
    "TOTAL_WORDS",
    "UNIT_WORDS",
    "VOCABULARY",
    "YES_WORDS",
    "folded",
    "plain_letters",
]


def plain_letters(text: str) -> str:
    """Return text without the accents of Latin letters; other scripts keep their marks."""
    if text.isascii():
        return text
    parts: list[str] = []
    for mark in text:
        base = unicodedata.normalize("NFD", mark)
        parts.append(base[0] if base[0] < "\u0250" and len(base) > 1 else mark)
    return (
        "".join(parts)
        .replace("ß", "ss")
        .replace("ł", "l")
        .replace("ø", "o")
        .replace("ı", "i")
        .replace("æ", "ae")
    )


@lru_cache(maxsize=20_000)
def folded(text: str) -> str:
    """Return text as it is compared: one width, small letters, plain letters, single blanks."""
    shown = text if text.isascii() else unicodedata.normalize("NFKC", text)
    return " ".join(plain_letters(shown.casefold()).split())


def _set(words: str) -> frozenset[str]:
    return frozenset(folded(word) for word in words.split("|"))


#: Idea → its words. A word of five letters and more, or of an alphabet without blanks, also counts inside
#: another word.
_TABLE: dict[str, str] = {
    "item": "item|items|pos|position|posicion|posicao|posizione|pozycja|pozice|line|row|idx|index|seq|sequence|lfd|laufende|lp|poz|rang|entry"
    "|行|行号|序号|序號|項|項番|項目|项次|連番|п/п|пп|номер п/п|позиция|поз|sira|순번|번호|tetel|rivi|rad|find|balloon|bubble",
    "number": "number|numbers|no|nr|num|nummer|numero|n°|nº|code|kod|codigo|codice|kode|kodi|pn|sku|part#|番号|番|编号|編號|料号|料號|编码|编码|номер|артикул|номера"
    "|№|cislo|numer|numara|szam|numerot|코드|#|catalogue|catalog|cat|p/n|品番|部番|图号|図番|ordercode|partnumber|partno",
    "id": "id|ident|identifier|key|uid",
    "reference": "ref|reference|references|referencia|referenza|riferimento|referentie|referenz|refs|referenssi|referens|referencias|riferimenti",
    "designator": "designator|designators|refdes|ref des|ref-des|ref designator|reference designator|location|locations|placement|designador|designadores"
    "|repere|reperes|bauteilbezeichner|bestuckungsplatz|リファレンス|部品記号|記号|回路記号|位号|位置号|位置|元件位号|位置番号|позиционное обозначение|поз. обозначение"
    "|обозначение|обозн|referans|지정자|참조|tervjel|oznaczenie|oznaczenia|oznaceni|beteckning|tunnus|parts on board|where used|symbol|symbols|instances",
    "part": "part|parts|component|components|bauteil|bauteile|teil|teile|artikel|article|articulo|articolo|artigo|pieza|piece|pieces|piezas|peca|componente|componentes"
    "|componenti|composant|composants|piece detachee|material|materialnr|部品|元件|零件|物料|元器件|器件|деталь|детали|компонент|компоненты|элемент|dil|soucastka|soucastky|onderdeel"
    "|alkatresz|czesc|element|komponent|komponenta|komponentti|osa|부품|parca|malzeme|product|produkt|produit|producto|prodotto|produto|товар|товары|изделие|stuff|thing",
    "name": "name|names|description|descr|desc|designation|title|bezeichnung|benennung|beschreibung|libelle|descripcion|descrizione|denominazione|denominacao|descricao"
    "|omschrijving|benaming|nazwa|opis|nazev|popis|benamning|beskrivning|beskrivelse|betegnelse|nimike|nimi|kuvaus|megnevezes|leiras|nombre|nome|nom|品名|名称|名稱|部品名|説明|描述|内容"
    "|наименование|название|описание|품명|이름|설명|tanim|aciklama|adi|nomenclature|what",
    "value": "value|values|val|wert|werte|valeur|valor|valore|waarde|wartosc|hodnota|varde|arvo|値|定数|值|参数值|номинал|값|ertek|deger|comment value|verdi|vaerdi",
    "footprint": "footprint|footprints|package|case|casing|gehause|bauform|boitier|empreinte|encapsulado|huella|contenitore|behuizing|obudowa|pouzdro|kapsel|封装|封裝|パッケージ|フットプリント|外形"
    "|корпус|посадочное место|kilif|패키지|tokozas|land pattern|pattern|pcb footprint|case/package|kotelo|hus",
    "quantity": "quantity|quantities|qty|qty.|qnty|qtty|quant|quan|qte|quantite|cantidad|cant|quantita|qta|quantidade|qtd|qtde|menge|anzahl|stuckzahl|stk|stck|stuck|aantal|ilosc|szt|mnozstvi|pocet|ks"
    "|antal|antall|stykker|maara|kpl|lukumaara|mennyiseg|db|darab|数量|數量|個数|个数|员数|員数|用量|количество|кол-во|кол|кол.|к-во|수량|개수|miktar|adet|count|pcs|pieces|number of|no of|nombre de|per board|per unit|nbr|q'ty|how many|amount|amount needed|amount required|units|needed|required|kusu|sztuk",
    "unit": "unit|uom|u/m|u.m.|um|units of measure|einheit|mengeneinheit|me|unite|unidad|unita|unidade|eenheid|jednostka|jm|j.m.|jednotka|mj|enhet|enhed|yksikko|単位|单位|單位|ед|ед. изм|ед.изм|единица|단위|birim|mertekegyseg|measure",
    "maker": "manufacturer|manufacturers|manufacturer's|manuf|manufact|manufacture|mfr|mfr.|mfg|mfgr|mfn|mnf|maker|brand|make|hersteller|fabricant|marque|fabricante|produttore|costruttore|marca|fabrikant|merk|producent|producenta|vyrobce"
    "|tillverkare|produsent|valmistaja|gyarto|メーカー|メーカ|製造元|製造業者|制造商|製造商|厂家|厂商|品牌|生产商|производитель|изготовитель|производител|изготовител|제조사|제조업체|uretici|marka|vendor maker|oem",
    "maker_number": "mpn|mpns|mfpn|mfrpn|mfgpn|mpn#|typnummer|type number|model|modell|modele|modelo|modello|model number|typenbezeichnung|typ bauteil|型番|型号|型號|型式|規格型号|规格型号|тип элемента|модель|모델|part type|device|manufacturer part|orderable",
    "seller": "supplier|suppliers|vendor|vendors|distributor|distributors|seller|dealer|shop|store|reseller|vn|lieferant|lieferanten|handler|distributeur|fournisseur|fournisseurs|proveedor|vendedor|distribuidor|fornitore|fornitori|distributore|fornecedor"
    "|leverancier|dostawca|dodavatel|leverantor|leverandor|toimittaja|szallito|beszallito|仕入先|購入先|調達先|供应商|供應商|渠道|采购渠道|поставщик|поставщик|продавец|продавц|магазин|공급사|공급업체|tedarikci|satici|source|sourced|sourcing|buy from|bought from|where to buy|where|purchased from|bezugsquelle|retailer|merchant",
    "seller_number": "spn|vpn|dpn|sku|bestellnummer|bestellnr|best.-nr|order code|order number|order no|ordering code|stock code|stock number|stock no|ref commande|商品番号|注文コード|订货号|заказной номер|tilausnumero|bestillingsnummer",
    "price": "price|prices|cost|costs|preis|preise|kosten|prix|cout|precio|precios|costo|coste|prezzo|preco|custo|prijs|cena|ceny|koszt|pris|priser|styckpris|a-pris|stykpris|kostnad|hinta|ar|egysegar|koltseg|単価|価格|値段|单价|單價|价格|價格|金額|金额|цена|стоимость|가격|단가|금액|fiyat|fiyati|maliyet|rate|each|msrp|einzelpreis|stuckpreis|budget",
    "total": "total|totals|ext|extended|extension|gesamt|gesamtpreis|gesamtbetrag|summe|subtotal|sub-total|totale|totaal|celkem|razem|lacznie|suma|som|sum|合計|合计|小計|小计|总价|總價|总计|計|итого|всего|сумма|합계|총액|toplam|tutar|yhteensa|osszesen|osszeg|line cost|line price|line total|betrag|montant|importe|importo|kwota|belopp|totalt|i alt|celkova|calkowity|общая|金額|金额|금액|tot",
    "pack": "pack|packs|per pack|packung|packungsgrosse|verpackung|paquet|vpe|pkg|packet|bag|box|reel|confezione|conf|embalagem|opakowanie|baleni|verpakking|包装|包裝|упаковка|упак|入数|spq|package quantity|package qty|pack size|pack qty|bundle|lot size",
    "minimum": "min|minimum|moq|mindest|mindestmenge|mindestbestellmenge|minimo|minimale|min order|起订量|最小|мин|最小起订量",
    "multiple": "multiple|order multiple|increment|vielfaches",
    "link": "link|links|url|urls|web|website|webpage|web page|hyperlink|lien|liens|enlace|enlaces|odkaz|lenke|lank|linkki|链接|連結|リンク|ссылка|ссылки|링크|baglanti|href|webseite|shop link|purchase link|http",
    "datasheet": "datasheet|data sheet|datenblatt|fiche technique|hoja de datos|データシート|规格书|даташит",
    "note": "note|notes|comment|comments|remark|remarks|bemerkung|bemerkungen|hinweis|hinweise|kommentar|kommentare|anmerkung|anmerkungen|commentaire|commentaires|remarque|remarques|observaciones|observacion|observacoes|notas|nota|opmerking|opmerkingen"
    "|uwagi|poznamka|poznamky|anmarkning|merknad|bemaerkning|huomautus|huom|megjegyzes|備考|备注|備註|注记|примечание|примечания|комментарий|비고|notlar|not|info|annotation|usage|purpose|function|verwendung|用途",
    "category": "category|type|types|group|class|family|kind|kategorie|typ|gruppe|categorie|tipo|categoria|gruppo|soort|groep|kategoria|skupina|kategori|luokka|類別|类别|类型|種類|種別|分類|分类|категория|тип|группа|종류|분류|tur|subsystem|section|module|location in machine",
    "level": "level|lvl|lev|bom level|ebene|stufe|niveau|nivel|livello|poziom|uroven|niva|taso|szint|階層|レベル|层级|層級|层次|уровень|단계|seviye|indent|depth|hierarchy|tier",
    "not_fitted": "dnp|dnf|dni|dns|do not populate|do not fit|do not place|do not install|do not stuff|not fitted|not populated|unpopulated|nicht bestuckt|no montar|non monter|ne pas monter|未実装|不贴|не устанавливать|exclude|excluded",
    "fitted": "fitted|fit|populate|populated|mounted|mount|place|placed|assemble|assembled|bestuckt|bestuckung|stuffed|installed|install|实装|実装|貼裝|贴装|монтаж|устанавливать|montar|monter",
    "currency": "currency|wahrung|devise|moneda|valuta|moeda|waluta|mena|valuutta|penznem|通貨|货币|币种|валюта|통화|para birimi",
    "lead": "lead time|leadtime|lead|lieferzeit|delai|plazo|plazo de entrega|tempo di consegna|prazo|levertijd|czas dostawy|dodaci lhuta|leveranstid|toimitusaika|納期|交期|交货期|срок поставки|срок|납기|teslim suresi|weeks",
    "stock": "stock|on hand|in stock|lager|lagerbestand|inventory|inventar|have|owned|stan|sklad|varasto|在庫|库存|остаток|наличие|재고|stok|available|availability|bestand|spare|spares",
    "batch": "order qty|order quantity|qty to order|to order|to buy|qty to buy|buy qty|purchase qty|bestellmenge|total qty|total quantity|gesamtmenge|quantity total|ordered|received|kits|boards",
    "spec": "spec|specs|specification|specifications|tolerance|voltage|rating|power|parameter|parameters|specifica|caracteristicas|caracteristiques|規格|规格|仕様|спецификация|характеристики|параметры|technische daten|technical data|toleranz|spannung|dimension|dimensions|size|length|abmessung|taille|tamano|サイズ|尺寸|размер|dielectric|temperature|color|colour|farbe|finish|current|norm|standard|стандарт",
    "material": "material|werkstoff|materiau|materiale|materiaal|materialkvalitet|材質|材质|材料|материал|재질|malzeme cinsi",
    "revision": "rev|revision|version|ver|index rev|ревизия|版本|版",
    "alternate": "alt|alternate|alternates|alternative|alternatives|alternativ|alternativa|alternativas|substitute|substitutes|second source|2nd source|ersatz|ersatztyp|equivalent|equivalents|replacement|ekvivalent|代替|代替品|替代|替代料|аналог|аналоги|замена|대체|muadil|crossref|cross reference",
    "layer": "layer|side|rotation|x|y|mid x|mid y|angle",
    "owner": "owner|drawn by|author|responsible|status|state|date|ordered by|weight|mass|gewicht|poids|peso",
}

#: Word → the ideas it tells. Filled from the table above.
IDEAS: dict[str, tuple[str, ...]] = {}
for _idea, _words in _TABLE.items():
    for _word in _set(_words):
        IDEAS[_word] = (*IDEAS.get(_word, ()), _idea)

TOTAL_WORDS = _set(
    "total|totals|grand total|sub total|subtotal|sub-total|sum|summe|gesamt|gesamtsumme|zwischensumme|endsumme|gesamtpreis|gesamtkosten|gesamtmenge|totale|subtotale|totaal|subtotaal"
    "|suma|razem|łącznie|suma częściowa|celkem|mezisoučet|součet|totalt|totalsumma|summa|delsumma|i alt|yhteensä|välisumma|összesen|részösszeg|toplam|ara toplam|genel toplam"
    "|合計|小計|総計|合计|小计|总计|總計|итого|всего|сумма|итог|общая сумма|합계|총계|소계|totaux|sous-total|sous total|total general|total général|soma|somme|subtotal general|total cost|total price|total qty|total quantity|total parts|number of parts|part count"
    "|component count|total components|anzahl bauteile|total lines|line count|number of lines|number of components|gesamtanzahl|nombre total|count|sub-totaal|i altt|overall|overall total|cost total|sum total|bom total|bom cost|balance|tax|vat|shipping|mwst|versand|zzgl mwst|netto|brutto|tva|iva|discount|rabatt|freight|porto"
)
FILLERS = _set(
    "n/a|na|n.a.|n.a|none|null|nil|nan|-|--|---|----|–|—|~|~~|~~~|?|??|???|tbd|t.b.d.|tba|tbc|to be defined|to be determined|to be confirmed|unknown|unk|undefined|unspecified|not specified|not available|not applicable|x|xx|xxx|*|.|..|...|…|/|#n/a|#ref!|#value!|#name?|#div/0!|#null!|#num!"
    "|k.a.|k. a.|k/a|keine|keine angabe|unbekannt|offen|entfällt|n.v.t.|nvt|geen|onbekend|s/o|n/d|nd|n.d.|aucun|aucune|inconnu|sin|ninguno|ninguna|desconocido|nessuno|nessuna|sconosciuto|nenhum|desconhecido|brak|b/d|nieznany|žádný|žádná|neznámý|neuvedeno|ingen|okänd|ukjent|ei|ei ole|tuntematon|nincs|ismeretlen|yok|bilinmiyor"
    "|なし|無し|無|不明|未定|ー|－|無指定|无|没有|未知|待定|нет|не указан|неизвестно|неизв|б/н|없음|미정|(none)|(blank)|(null)|[none]|<none>|empty|leer|vacío|vuoto"
)
#: What stands in a maker's or seller's cell where anybody may make it.
ANY_MAKER = _set(
    "generic|any|any brand|various|misc|miscellaneous|standard|standard component|standard part|commercial|off the shelf|off-the-shelf|cots|normteil|norm|standardteil|divers|beliebig|diverse|verschiedene|quelconque|standard parts|générique|genérico|generico|cualquiera|qualsiasi|qualquer|dowolny|libovolný|汎用|汎用品|通用|任意|любой|разные|стандартный|범용"
)
#: What stands there where we make it, or have it made to our drawing.
OWN_DRAWING = _set(
    "custom|custom made|custom-made|custom part|see drawing|as per drawing|per drawing|in house|in-house|inhouse|self made|self-made|own|own design|own part|homemade|eigen|eigenfertigung|eigenteil|zeichnungsteil|nach zeichnung|sur plan|fait maison|a dibujo|a disegno|su disegno|sob desenho|własny|vlastní|egen|oma|saját|図面品|内製|自製|自制|定制|定做|по чертежу|собственное|자작|fabricated|3d printed|3d print|printed"
)
NOT_FITTED = _set(
    "dnp|dnf|dni|dns|nf|nm|do not populate|do not fit|do not place|do not install|do not mount|do not stuff|not fitted|not populated|not mounted|not placed|not assembled|not installed|unpopulated|no pop|nopop|no stuff|nostuff|no fit|nofit|don't populate|omit|omitted|n.b.|nicht bestückt|nicht bestücken|unbestückt|nb|no montar|no monta|no poblar|non montato|non montare|non monté|ne pas monter|não montar|niet plaatsen|niet geplaatst|nie montować|nie lutować|neosazovat|neosazeno|monteras ej|ej monterad|ei ladota|nem beültetendő|未実装|実装しない|実装なし|不贴|不焊|不装|空贴|не устанавливать|не ставить|не монтировать|미실장|takılmayacak"
)
ALTERNATE = _set(
    "alt|alt.|alternate|alternative|alternativ|alternativa|substitute|second source|2nd source|ersatz|ersatztyp|equivalent|or|oder|ou|代替|替代|аналог|замена|대체|or equivalent"
)
NOTE_STARTS = _set(
    "note|notes|nb|n.b.|remark|remarks|hinweis|hinweise|anmerkung|anmerkungen|bemerkung|remarque|remarques|nota|notas|note:|opmerking|uwaga|uwagi|poznámka|anmärkning|huomautus|megjegyzés|注|注意|備考|备注|說明|说明|примечание|внимание|참고|*|**|important|warning|legend|legende|revision|rev|generated|created|printed|exported|prepared by|approved by|source|date|author|page|checked by|drawn by"
)
AS_NEEDED = _set(
    "as needed|as required|a/r|ar|a.r.|as req|as req.|as reqd|as req'd|nach bedarf|n. bedarf|n.b|n. b.|bedarf|selon besoin|según necesidad|al bisogno|secondo necessità|q.b.|qb|conforme necessário|naar behoefte|wg potrzeb|dle potřeby|efter behov|tarpeen mukaan|szükség szerint|適量|必要量|适量|按需|по месту|по необходимости|适當|필요시|some|few|a few|enough|lots|many"
)
YES_WORDS = _set(
    "yes|y|true|x|1|ja|j|oui|o|si|sí|sim|tak|ano|kyllä|igen|evet|да|はい|是|예|✓|✔|☑|●|○|on|✗x|wahr|vrai|verdadero|vero"
)
NO_WORDS = _set(
    "no|n|false|0|nein|non|não|nie|ne|nej|nei|ei|nem|hayır|нет|いいえ|否|아니오|✗|✘|☐|×|off|falsch|faux|falso"
)

#: Sign or word → currencies it may stand for, the likeliest first.
CURRENCY_SIGNS: dict[str, tuple[str, ...]] = {
    "€": ("EUR",), "eur": ("EUR",), "euro": ("EUR",), "euros": ("EUR",),
    "us$": ("USD",), "$": ("USD", "CAD", "AUD"), "usd": ("USD",), "dollar": ("USD",), "dollars": ("USD",),
    "ca$": ("CAD",), "c$": ("CAD",), "a$": ("AUD",), "au$": ("AUD",), "nz$": ("NZD",), "hk$": ("HKD",), "s$": ("SGD",), "nt$": ("TWD",), "r$": ("BRL",), "mx$": ("MXN",),
    "£": ("GBP",), "gbp": ("GBP",), "¥": ("JPY", "CNY"), "円": ("JPY",), "yen": ("JPY",), "元": ("CNY",), "rmb": ("CNY",), "人民币": ("CNY",),
    "₩": ("KRW",), "원": ("KRW",), "₹": ("INR",), "rs": ("INR",), "rs.": ("INR",), "₽": ("RUB",), "руб": ("RUB",), "руб.": ("RUB",), "р.": ("RUB",), "zł": ("PLN",), "zl": ("PLN",),
    "kč": ("CZK",), "kc": ("CZK",), "ft": ("HUF",), "kr": ("SEK", "NOK", "DKK"), "kr.": ("DKK", "SEK", "NOK"), "fr.": ("CHF",), "sfr": ("CHF",), "sfr.": ("CHF",), "chf": ("CHF",),
    "₺": ("TRY",), "tl": ("TRY",), "₴": ("UAH",), "грн": ("UAH",), "₪": ("ILS",), "₫": ("VND",), "฿": ("THB",), "lei": ("RON",), "лв": ("BGN",),
}  # fmt: skip

#: Words after a quantity, beyond those of the units themselves → the unit meant. Package words stand for
#: themselves: how much is in one is not said.
UNIT_WORDS: dict[str, str] = {
    folded(word): unit
    for unit, words in {
        "each": "pc|pcs|pc.|pcs.|pce|pces|piece|pieces|ea|each|ea.|unit|units|u|off|no|nos|nos.|x|×|stk|stk.|st|st.|stck|stück|stueck|st|pz|pz.|pezzi|pieza|piezas|pièce|pièces|pce|ud|uds|uds.|un|und|unid|peça|peças|szt|szt.|sztuk|ks|kus|kusy|kusů|kpl|db|darab|stuks|adet|個|个|個|枚|本|只|颗|pcs|шт|шт.|штук|개|ea",
        "set": "set|sets|satz|sätze|jeu|jeux|juego|juegos|serie|set.|kpl.|sada|zestaw|組|组|セット|套|комплект|компл|компл.|к-т|세트|takım|式",
        "kit": "kit|kits|bausatz",
        "pair": "pair|pairs|pr|paar|paire|paires|par|pares|paio|paia|para|pár|対|对|双|пара|пар|쌍|çift",
        "m": "m|metre|metres|meter|meters|mtr|mètre|mètres|metro|metros|metri|米|メートル|м|метр|метров",
        "cm": "cm|centimetre|centimetres|centimeter|centimeters|см|厘米|センチ",
        "mm": "mm|millimetre|millimetres|millimeter|millimeters|мм|毫米|ミリ",
        "in": "in|inch|inches|\"|''|″|zoll|pouce|pouces|pulgada|pulgadas|pollici",
        "ft": "ft|ft.|foot|feet|'|′|fuss|pied|pieds",
        "kg": "kg|kgs|kilogram|kilograms|kilo|кг|公斤|千克",
        "g": "g|gr|gram|grams|gramm|gramme|grammes|гр|г|克",
        "l": "l|litre|litres|liter|liters|ltr|л|升",
        "ml": "ml|millilitre|millilitres|milliliter|milliliters|мл|毫升",
        "m2": "m2|m²|sqm|sq m|qm|кв.м|平方米",
        "roll": "roll|rolls|rolle|rollen|rouleau|rollo|rotolo|rulle|rolka|巻|卷|рулон",
        "sheet": "sheet|sheets|blatt|bogen|platte|platten|feuille|plaque|hoja|foglio|лист|листов|张|張|板",
        "pack": "pack|packs|pkg|packet|packets|packung|paquet|paquete|pakke|opakowanie|包|盒|袋|упак|упаковка|box|boxes|bag|bags|bottle|tube|reel|reels|can|karton|schachtel|beutel|flasche|boite|caja|scatola",
        "lot": "lot|lots|job|ls|lump|pauschal",
        "h": "h|hr|hrs|hour|hours|std|stunde|stunden|heure|heures|час|часов|小时",
        "min": "min|mins|minute|minutes|minuten",
    }.items()
    for word in words.split("|")
}

#: Words of headings in other letters than ASCII, one word each: they tell which code page was meant.
VOCABULARY: frozenset[str] = frozenset(
    word
    for words in (
        *_TABLE.values(),
        "stück|bestückt|größe|länge|zubehör|gehäuse|wäscher|schraube|widerstand|résistance|condensateur|kondensator|抵抗|電容|电阻|电容|резистор|конденсатор|винт|гайка|コンデンサ|ネジ|基板",
    )
    for phrase in words.split("|")
    for word in phrase.split()
    if not word.isascii()
) | frozenset(
    "menge stück stückzahl größe gehäuse währung einheit quantité désignation référence unité boîtier repère coût numéro délai descripción código posición cantidad número quantità quantidade descrição código peça"
    " množství počet název výrobce číslo součástka jednotka poznámka ilość wartość część łącznie způsob beskrivning benämning tillverkare leverantör anmärkning värde mängd määrä yksikkö".split()
)
