"""A certificate of an invented laboratory, in the form of PTB's public schema (https://ptb.de/dcc, 3.1)."""

from __future__ import annotations

TEMPERATURES = {
    "reference": (r"\kelvin", "273.15 323.15 373.15 423.15 473.15"),
    "measured": (r"\kelvin", "273.15 323.25 373.35 423.35 473.25"),
    "error": (r"\kelvin", "0.00 0.10 0.20 0.20 0.10"),
}
"""0, 50, 100, 150 and 200 °C."""


def certificate(
    *,
    reference: tuple[str, str] = TEMPERATURES["reference"],
    measured: tuple[str, str] = TEMPERATURES["measured"],
    error: tuple[str, str] = TEMPERATURES["error"],
    serial: str = "SA1011",
    conformity: str = "pass",
    version: str = "3.1.1",
    doctype: str = "",
) -> bytes:
    """XML of a temperature sensor's certificate, with what a test wants otherwise."""

    def values(of: tuple[str, str]) -> str:
        unit, numbers = of
        return (
            f"<si:realListXMLList><si:valueXMLList>{numbers}</si:valueXMLList>"
            f"<si:unitXMLList>{unit}</si:unitXMLList></si:realListXMLList>"
        )

    def limit(word: str, number: str) -> str:
        return f'<dcc:quantity refType="basic_acceptanceLimit{word}">{values((error[0], number))}</dcc:quantity>'

    with_uncertainty = values(error).replace(
        "</si:realListXMLList>",
        "<si:expandedUncXMLList><si:uncertaintyXMLList>0.06</si:uncertaintyXMLList>"
        "<si:coverageFactorXMLList>2</si:coverageFactorXMLList></si:expandedUncXMLList></si:realListXMLList>",
    )
    return f"""<?xml version="1.0" encoding="UTF-8"?>{doctype}
<dcc:digitalCalibrationCertificate
  xmlns:dcc="https://ptb.de/dcc" xmlns:si="https://ptb.de/si" schemaVersion="{version}">
  <dcc:administrativeData>
    <dcc:coreData>
      <dcc:uniqueIdentifier>HL-2024-0311</dcc:uniqueIdentifier>
      <dcc:endPerformanceDate>2024-05-16</dcc:endPerformanceDate>
    </dcc:coreData>
    <dcc:items><dcc:item>
      <dcc:name><dcc:content lang="de">Fühler</dcc:content><dcc:content lang="en">Probe</dcc:content></dcc:name>
      <dcc:manufacturer><dcc:name><dcc:content>Quarrymoor</dcc:content></dcc:name></dcc:manufacturer>
      <dcc:model>Probe pt100</dcc:model>
      <dcc:identifications><dcc:identification>
        <dcc:issuer>manufacturer</dcc:issuer><dcc:value>{serial}</dcc:value>
        <dcc:name><dcc:content lang="en">Serial no.</dcc:content></dcc:name>
      </dcc:identification></dcc:identifications>
    </dcc:item></dcc:items>
    <dcc:calibrationLaboratory><dcc:contact>
      <dcc:name><dcc:content>Harrow Lane Laboratory</dcc:content></dcc:name>
    </dcc:contact></dcc:calibrationLaboratory>
    <dcc:respPersons><dcc:respPerson>
      <dcc:person><dcc:name><dcc:content>I. Marsh</dcc:content></dcc:name></dcc:person>
      <dcc:mainSigner>true</dcc:mainSigner>
    </dcc:respPerson></dcc:respPersons>
    <dcc:statements><dcc:statement><dcc:conformity>{conformity}</dcc:conformity></dcc:statement></dcc:statements>
  </dcc:administrativeData>
  <dcc:measurementResults><dcc:measurementResult>
    <dcc:measuringEquipments><dcc:measuringEquipment>
      <dcc:name><dcc:content>Reference thermometer</dcc:content></dcc:name>
      <dcc:identifications><dcc:identification>
        <dcc:issuer>calibrationLaboratory</dcc:issuer><dcc:value>RT-3</dcc:value>
      </dcc:identification></dcc:identifications>
    </dcc:measuringEquipment></dcc:measuringEquipments>
    <dcc:results><dcc:result>
      <dcc:name><dcc:content lang="en">Results</dcc:content></dcc:name>
      <dcc:data><dcc:list>
        <dcc:quantity refType="basic_referenceValue"><si:hybrid>{values(reference)}</si:hybrid></dcc:quantity>
        <dcc:quantity refType="basic_measuredValue">{values(measured)}</dcc:quantity>
        <dcc:quantity refType="basic_measurementError">{with_uncertainty}
          <dcc:measurementMetaData><dcc:metaData>
            <dcc:conformityXMLList>{conformity}</dcc:conformityXMLList>
            <dcc:data>{limit("Lower", "-0.5")}{limit("Upper", "0.5")}</dcc:data>
          </dcc:metaData></dcc:measurementMetaData>
        </dcc:quantity>
      </dcc:list></dcc:data>
    </dcc:result></dcc:results>
  </dcc:measurementResult></dcc:measurementResults>
</dcc:digitalCalibrationCertificate>""".encode()
