//! The names of elements as makers publish them for ISO 15143-3 (AEMP 2.0); the files are made up.

use super::*;

const XML: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<f:Fleet xmlns:f="http://standards.iso.org/iso/15143/-3" version="1" snapshotTime="2026-11-24T18:00:00Z">
  <f:Links><f:rel>self</f:rel><f:href>https://maker.example/Fleet/1</f:href></f:Links>
  <f:Equipment>
    <f:EquipmentHeader>
      <f:OEMName>Ternmaker</f:OEMName><f:Model>UV &amp; 2</f:Model>
      <f:EquipmentID>U-07</f:EquipmentID><f:SerialNumber>TF-1</f:SerialNumber><f:PIN>PIN-1</f:PIN>
    </f:EquipmentHeader>
    <f:CumulativeIdleHours datetime="2026-11-24T17:00:00Z"><f:Hour>99</f:Hour></f:CumulativeIdleHours>
    <f:CumulativeOperatingHours datetime="2026-11-24T17:00:00Z"><f:Hour>1203.49</f:Hour></f:CumulativeOperatingHours>
  </f:Equipment>
  <f:Equipment>
    <f:EquipmentHeader><f:EquipmentID>U-08</f:EquipmentID></f:EquipmentHeader>
  </f:Equipment>
</f:Fleet>"#;

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

#[test]
fn xml_with_namespaces() {
    let fleet = read_hours(XML.as_bytes()).unwrap();
    assert_eq!(fleet.len(), 2);
    let first = &fleet[0];
    assert_eq!((first.line, first.model.as_str()), (4, "UV & 2"));
    assert_eq!(first.names().collect::<Vec<_>>(), ["TF-1", "PIN-1", "U-07"]);
    // Rounded down, and idle hours are no operating hours.
    assert_eq!(first.hours, [OperatingHours { hours: Hours(12_034), at: at("2026-11-24T17:00:00Z") }]);
    assert!(fleet[1].hours.is_empty());
    let plain = XML.replace("f:", "").replace("xmlns:f", "xmlns");
    assert_eq!(read_hours(plain.as_bytes()).unwrap(), fleet);
}

#[test]
fn json_however_it_is_wrapped_and_cased() {
    let one = r#"{"EquipmentHeader":{"EquipmentID":"U-07","SerialNumber":"TF-1","Model":"UV"},
        "CumulativeOperatingHours":{"datetime":"2026-11-24T18:00:00+01:00","Hour":1203.4}}"#;
    let lists = [
        format!(r#"{{"Fleet":{{"version":"1","Equipment":[{one}]}}}}"#),
        format!(r#"{{"version":"1","Equipment":[{one}]}}"#),
        format!(r#"[{{"Equipment":[{one}]}}]"#),
        format!("[{one}]"),
        format!(r#"{{"fleet":{{"equipment":{}}}}}"#, one.to_lowercase()),
        format!(r#"{{"Fleet":{{"Equipment":{}}}}}"#, one.replace("datetime", "@datetime")),
    ];
    for list in &lists {
        let fleet = read_hours(list.as_bytes()).unwrap_or_else(|f| panic!("{list}: {f:?}"));
        assert_eq!(fleet[0].hours, [OperatingHours { hours: Hours(12_034), at: at("2026-11-24T17:00:00Z") }]);
        assert_eq!(fleet[0].serial.to_uppercase(), "TF-1");
    }
}

#[test]
fn nothing_expands_and_what_is_cut_off_is_seen() {
    let said = |file: &str| read_hours(file.as_bytes()).unwrap_err()[0].sentence.to_string();
    // The "billion laughs" begin with a document type.
    let laughs =
        r#"<!DOCTYPE Fleet [<!ENTITY a "ha"><!ENTITY b "&a;&a;">]><Fleet><Equipment>&b;</Equipment></Fleet>"#;
    assert!(said(laughs).contains("DOCTYPE"), "{}", said(laughs));
    let entity = XML.replace("&amp;", "&other;");
    assert!(said(&entity).contains("other"), "{}", said(&entity));
    let cut = &XML[..XML.len() - 40];
    assert!(read_hours(cut.as_bytes()).is_err());
    assert!(read_hours(XML.replace("</f:Model>", "</f:Mode>").as_bytes()).is_err());
    assert!(read_hours(b"{\"Fleet\": ").is_err());
    for (from, to) in [
        ("1203.49", "1.2e3"),
        ("1203.49", ""),
        ("2026-11-24T17:00:00Z\"><f:Hour>1203", "soon\"><f:Hour>1203"),
    ] {
        assert!(read_hours(XML.replace(from, to).as_bytes()).is_err(), "{to}");
    }
    assert!(said("<Fleet/>").contains("CumulativeOperatingHours"));
    assert!(
        is_hours_file(b"\xef\xbb\xbf \n<Fleet/>") && is_hours_file(b"[") && !is_hours_file(b"unit number,x")
    );
}
