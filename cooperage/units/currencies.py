"""Currencies by their code, and how many decimals their sums have.

Codes and minor units: ISO 4217:2015, list one, from memory; of those that circulate, without funds, metals and testing
codes. A code that is missing here is a line to add.
"""

from collections.abc import Mapping
from types import MappingProxyType

_BY_DECIMALS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF",
    2: "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY COP "
    "CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR "
    "IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN "
    "NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP "
    "STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VES WST XCD XCG YER ZAR ZMW ZWG",
    3: "BHD IQD JOD KWD LYD OMR TND",
}
MINOR_UNITS: Mapping[str, int] = MappingProxyType(
    {code: decimals for decimals, codes in _BY_DECIMALS.items() for code in codes.split()}
)
"""How many decimals the sums of each currency have, by its code."""
USUAL_DECIMALS = 2


def decimals_of(currency: str) -> int:
    """Return how many decimals a sum has; two where no currency is set."""
    return MINOR_UNITS.get(currency, USUAL_DECIMALS)
