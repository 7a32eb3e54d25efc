"""Currencies of ISO 4217 and how many digits their smallest unit has."""

from decimal import Decimal

_TWO = (
    "AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY COP "
    "CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR "
    "JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN "
    "NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP "
    "SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST XCD XCG YER ZAR ZMW ZWG"
)
_NONE = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF"
_THREE = "BHD IQD JOD KWD LYD OMR TND"

MINOR_DIGITS: dict[str, int] = {
    **dict.fromkeys(_TWO.split(), 2),
    **dict.fromkeys(_NONE.split(), 0),
    **dict.fromkeys(_THREE.split(), 3),
}
"""Digits behind the point of an amount, for each currency that prices are asked in."""


def smallest_unit(currency: str) -> Decimal:
    """The smallest amount: 0.01 of the US dollar. `currency` is one of MINOR_DIGITS.

    >>> smallest_unit("BHD")
    Decimal('0.001')
    """
    return Decimal(1).scaleb(-MINOR_DIGITS[currency])
