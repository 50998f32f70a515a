# Makes, in an empty folder, the demo's files and a shop in which every example
# of --help finds what it names.
set -e
tenths demo . >/dev/null
echo 'correct horse' >password.txt
echo 'battery staple' >new.txt
export TENTHS_BY=mp
tenths shop init mp --title 'Corner Engine Shop' --name 'M. Pohl' --password-file password.txt
add() {
  tenths person add "$1" --name "$2" --role "$3" --certificate "$4" --number "$5" --password-file password.txt
  tenths person password "$1" --password-file password.txt --new-password-file password.txt
}
add kd 'K. Dorn' mechanic mechanic 204411
add ow 'O. Weiss' inspector 'inspection authorization' 77120
sed 's/revision: "3"/revision: "4"/' book.yaml >next.yaml
cat >cam.yaml <<'END'
format: book/1
engine: My engine
manual: {title: Overhaul manual, number: OM-1, revision: "9"}
unit: in
parts:
  cam:
    name: Camshaft
    features:
      front: {name: Front journal, kind: outside, directions: [0, 90]}
lines:
  journal: {name: Front journal diameter, size: cam.front, new: 1.4985..1.4990, service: 1.4970}
END
cat >fits.yaml <<'END'
format: book/1
engine: Rod and pin
unit: in
parts:
  rod: {features: {bush: {kind: inside}, gap: {kind: clearance}}}
  pin: {features: {outside: {kind: outside}}}
lines:
  bush-bore: {name: Piston pin bushing in rod, size: rod.bush, new: 2.4010..2.4015}
  pin-size: {name: Piston pin diameter, size: pin.outside, new: 2.3988..2.3990}
  pin-fit: {name: Piston pin clearance in rod bushing, size: rod.gap, new: 0.0020..0.0030}
END
cat >limits.csv <<'END'
Ref,Description,Unit,New,Wear limit
1,Main journal diameter,in,2.2490 - 2.2500,2.2470
2,Main bearing outside diameter,in,2.5005 - 2.5010,(*)
3,Bearing clearance,in,0.0010 - 0.0030,"0,0045"
END
tenths book import limits.csv || test $? = 3
tenths book settle limits.yaml --out to-settle.xlsx || test $? = 3
for book in book.yaml next.yaml cam.yaml; do tenths shop adopt $book --password-file password.txt; done
echo '# another text' >>book.yaml
open() {
  tenths job open "$1" --edition "$2" --model Four --serial 1127 --reason overhaul --customer 'a club' --authority '14 CFR 43'
}
open 2026-014 'revision 3'
tenths job import 2026-014 readings.csv --register --skip-faults --by kd || test $? = 2
printf 'spot,value,item\nrod-1.width.-.180,1.3674,rod 1\nrod-2.width.-.180,1.3665,rod 2\n' >widths.csv
for order in 2026-013 2026-012; do
  open $order OM-1
  tenths job take $order cam.front.-.0 1.4981 --by kd
  tenths job take $order cam.front.-.90 1.4979 --by kd
  tenths job sign $order cam --as performed --by kd --password-file password.txt
  tenths job sign $order cam --as inspected --by ow --password-file password.txt
done
tenths job close 2026-012 --by ow --password-file password.txt
tenths job export 2026-014 2026-014.tenths --by kd
tenths backup friday.db
