"""Currencies and their minor units.

Source: ISO 4217 list one as published by its maintenance agency, table dated 2026-01-01. Codes without a
minor unit (funds, metals, tests, no currency) are no money one can pay with and are left out.
"""

from __future__ import annotations

__all__ = ["MINOR_UNITS"]

_BY_DECIMALS = {
    0: ("BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF "),
    2: (
        "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE "
        "CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD "
        "HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK "
        "MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD "
        "RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH "
        "USD USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW ZWG "
    ),
    3: ("BHD IQD JOD KWD LYD OMR TND "),
    4: ("CLF UYW "),
}

#: Code → decimals of its smallest payable amount.
MINOR_UNITS: dict[str, int] = {
    code: places for places, codes in _BY_DECIMALS.items() for code in codes.split()
}
