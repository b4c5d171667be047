"""
The words of column headers: what each means, in seven languages, and its unit.

Only general words of the trade.  A header is cut into words without accents,
brackets or units; the words then decide.  What is not understood stays a channel
under its own name and can be named in a column map.
"""

import re
import unicodedata
from dataclasses import dataclass


def _table(text: str) -> dict[str, str]:
    """Turn ``role: name, name`` lines into a dictionary from name to role."""
    out = {}
    for line in text.strip().splitlines():
        role, names = line.split(":")
        out.update({name.strip(): role.strip() for name in names.split(",")})
    return out


_WHOLE = _table("""
latitude: latitude, lat, breite, breitengrad, geographische breite, geogr breite, latitud, latitudine, breedtegraad, breedte, gps lat, gps latitude, position lat, position latitude, lat deg
longitude: longitude, lon, long, lng, lange, laenge, langengrad, laengengrad, geographische lange, geogr lange, longitud, longitudine, lengtegraad, lengte, gps lon, gps long, gps lng, gps longitude, position lon, position longitude
lat_hemisphere: n s, ns, north south, lat hemisphere, latitude hemisphere, lat hemi, latitude ref, lat ref, lat ns, latitude n s, lat n s, lat dir, latitude direction
lon_hemisphere: e w, ew, east west, lon hemisphere, longitude hemisphere, lon hemi, longitude ref, lon ref, lon ew, longitude e w, lon e w, lon dir, longitude direction
date: date, datum, fecha, data, jour, dia, tag, dag, giorno, gps date, date utc, utc date, local date, datum utc, date gps
time: time, timestamp, time stamp, zeit, uhrzeit, zeitstempel, heure, temps, horodatage, ora, orario, hora, tiempo, tijd, tijdstip, elapsed, elapsed time, t, sec, secs, second, seconds, sekunde, sekunden, secondes, secondi, segundos, seconden, datetime, date time, date and time, datum zeit, datum uhrzeit, datumzeit, fecha hora, fecha y hora, data ora, data e ora, data hora, data e hora, date heure, date et heure, datum tijd, utc, utc time, time utc, utc timestamp, timestamp utc, date time utc, datetime utc, utc datetime, gps time, time gps, local time, time local, lokalzeit, ortszeit, lokale zeit, hora local, ora locale, heure locale, lokale tijd, epoch, epoch time, unix, unix time, unix timestamp, time unix, posix time, millis, milliseconds, time of day, tagzeit, session time, log time, gps utc, uhrzeit utc, heure utc, hora utc, ora utc, zeit utc, messzeit, laufzeit, verstrichene zeit, temps ecoule, tempo trascorso, tiempo transcurrido, tempo decorrido, verstreken tijd, time since start, run time, marca de tiempo, rel time, relative time
tempo: tempo
gps_week: gps week, week, wn, week number, weekno, week no, gps week number, gps woche, gpsweek, gps wk, wk, woche, semaine gps, semaine, semana gps, semana, settimana gps, settimana, gps weeknummer
gps_tow: tow, itow, time of week, gps tow, gpstow, seconds of week, second of week, sow, gps seconds, gps sow, gps time of week, wochensekunde, wochensekunden, gps sekunden, secondes de la semaine, segundos de la semana, secondi della settimana, seconden van de week, gps itow, tow s
utc_offset: utc offset, time zone, timezone, tz, zeitzone, zone, fuseau horaire, fuso orario, zona horaria, fuso horario, tijdzone, gmt offset
speed: speed, velocity, v, vel, spd, geschwindigkeit, geschw, vitesse, velocita, velocidad, velocidade, snelheid, sog, ground speed, groundspeed, speed over ground, gspeed, g speed, speed 2d, 2d speed, speed2d, gps speed, gps velocity, speed gps, gps geschwindigkeit, geschwindigkeit gps, geschwindigkeit uber grund, vitesse gps, vitesse sol, velocita gps, velocidad gps, velocidade gps, gps snelheid, vehicle speed, car speed, fahrgeschwindigkeit, vehicle velocity, horizontal speed, speed horizontal, tempo gps
course: course, heading, bearing, track, cog, hdg, kurs, richtung, fahrtrichtung, kurs uber grund, cap, route, rotta, direzione, direction, rumbo, curso, rumo, koers, richting, track angle, course over ground, true course, course true, azimuth, azimut, gps heading, gps course, heading of motion, heading motion, headmot, gps track, gps bearing, track made good, direccion, direcao, gps kurs, motion heading, cap vrai, track over ground, direction of travel
height: altitude, alt, height, elevation, ele, elev, hohe, hoehe, hohe uber nn, quota, altezza, altitudine, altura, elevacion, elevacao, hoogte, msl, hmsl, height msl, altitude msl, msl altitude, gps altitude, gps height, gps alt, gps hohe, hauteur, altitud, gps altitud, gps elevation, ellipsoidal height, height ellipsoid
satellites: satellites, sats, sat, nsat, nsats, num sv, numsv, n sv, svs, satellites used, used satellites, number of satellites, num satellites, num sats, satellite count, satelliten, anzahl satelliten, nombre de satellites, satelliti, numero satelliti, satelites, numero de satelites, satellieten, aantal satellieten, gps satellites, gps sats, gps num sats, gps satelliten, sat count, no of satellites
hdop: hdop, gps hdop, horizontal dilution, horizontal dop
fix: fix, fix type, fixtype, fix quality, gps fix, gps fix type, gps fix quality, fix status, gps quality, valid, gps valid, validity, fix valid, position valid, gultig, gultigkeit, valide, valido, geldig, gps status, fix ok, fix mode, gnss fix, gnss fix type, qualite fix, quality indicator
position_sd: hacc, h acc, horizontal accuracy, accuracy, position accuracy, gps accuracy, pos acc, pacc, accuracy horizontal, genauigkeit, lagegenauigkeit, horizontale genauigkeit, precision, precision horizontale, precision horizontal, precisione, precisione orizzontale, precisao, precisao horizontal, nauwkeurigkeit, horizontale nauwkeurigkeit, hsd, position sd, horizontal sd, sd horizontal, pos sd, exactitud, h accuracy, gps h acc, accuracy h, horizontal error, eph, est horizontal error, position error, hor acc
position_sd_axis: position sd axis
sd_north: sd north, sdn, sd n, sd lat, lat sd, latitude sd, sigma north, sigma lat, north sd, std north, std lat, lat std, latitude std, lat sigma, latitude sigma, sigma n, north std, stddev lat
sd_east: sd east, sde, sd e, sd lon, lon sd, longitude sd, sigma east, sigma lon, east sd, std east, std lon, lon std, longitude std, lon sigma, longitude sigma, sigma e, east std, stddev lon
speed_sd: sacc, s acc, speed accuracy, speed sd, sd speed, velocity accuracy, velocity sd, vel acc, speed acc, speed std, gps speed accuracy, geschwindigkeitsgenauigkeit, speed sigma, velocity std, precision vitesse
throttle: throttle, throttle position, tps, gas, gaspedal, accelerator, accelerator pedal, pedal, pedal position, drosselklappe, drosselklappenstellung, fahrpedal, papillon, accelerateur, pedale accelerateur, position papillon, farfalla, acceleratore, pedale acceleratore, posizione farfalla, acelerador, pedal acelerador, posicion acelerador, mariposa, borboleta, posicao acelerador, gaspedaalstand, gaspedaal, gasklep, throttle pedal, throttle pos
brake: brake, brakes, brake pressure, brake pedal, brake position, front brake pressure, brake pressure front, bremse, bremsdruck, bremsdruck vorne, bremsdruck vorn, bremspedal, frein, freins, pression frein, pression de frein, pression freins, freno, freni, pressione freno, pressione freni, frenos, presion freno, presion de freno, freio, freios, pressao freio, pressao do freio, rem, remdruk, rempedaal, travao, pressao travao
steering: steering, steering angle, steering wheel angle, steer, steer angle, steering wheel, lenkwinkel, lenkung, lenkrad, lenkradwinkel, volant, angle volant, direction volant, sterzo, angolo sterzo, volante, angolo volante, angulo volante, angulo de volante, angulo do volante, stuur, stuurhoek, stuurwiel, steering position
rpm: rpm, engine speed, engine rpm, engine revs, revs, drehzahl, motordrehzahl, umdrehungen, regime, regime moteur, tr min, tours minute, giri, giri motore, regime motore, revoluciones, rpm motor, vueltas motor, rotacao, rotacoes, rotacao motor, rotacoes motor, toerental, motortoerental, u min, revolutions, engine revolutions
gear: gear, gear position, current gear, gang, eingelegter gang, rapport, rapport engage, marcia, marcha, versnelling, rapporto
x: x, x coord, x coordinate
y: y, y coord, y coordinate
part: trajectory id, track id, trip id, segment id, session id, recording id, track number, segment number, trajectory
""")

# Words that say that a header with "speed" or "time" in it means something else.
_VETO = frozenset(
    "wheel wheels rad rader roue roues ruota ruote rueda ruedas roda rodas wiel wielen wind engine motor "
    "moteur motore vertical climb lap laps runde rundenzeit sector sektor max min maximum minimum avg "
    "average mean lead shaft turbine fan pump delta diff target limit accuracy acc error sd std sigma "
    "best fl fr rl rr front rear x y z north east down up n e d ned enu calc filtered pit lane "
    "gear ratio slip yaw roll pitch rate angular rotation acceleration accel predicted reference "
    "magnetic variation geoid separation dilution age count zone air oil water fuel".split()
)
_TOKEN = {
    "latitude": "latitude", "latitud": "latitude", "latitudine": "latitude", "lat": "latitude",
    "breitengrad": "latitude", "breedtegraad": "latitude", "breite": "latitude",
    "longitude": "longitude", "longitud": "longitude", "longitudine": "longitude",
    "lon": "longitude", "lng": "longitude", "laengengrad": "longitude", "langengrad": "longitude",
    "lengtegraad": "longitude", "lange": "longitude", "laenge": "longitude",
    "timestamp": "time", "zeitstempel": "time", "horodatage": "time", "uhrzeit": "time",
    "time": "time", "zeit": "time", "heure": "time", "orario": "time", "hora": "time", "tijd": "time",
    "speed": "speed", "geschwindigkeit": "speed", "vitesse": "speed", "velocita": "speed",
    "velocidad": "speed", "velocidade": "speed", "snelheid": "speed", "velocity": "speed",
    "course": "course", "heading": "course", "bearing": "course", "kurs": "course",
    "koers": "course", "cog": "course",
    "altitude": "height", "elevation": "height", "hohe": "height", "hoehe": "height",
    "hdop": "hdop", "satellites": "satellites", "satelliten": "satellites",
}  # fmt: skip

SPEED_UNITS = {
    "m/s": 1.0,
    "km/h": 1 / 3.6,
    "mph": 0.44704,
    "knots": 1852 / 3600,
    "cm/s": 0.01,
    "mm/s": 0.001,
    "ft/s": 0.3048,
}
"""Metres a second in one of each unit (NIST SP 811; exact)."""

TIME_UNITS = {"s": 1_000_000_000, "ms": 1_000_000, "us": 1000, "ns": 1, "min": 60_000_000_000}
"""Nanoseconds in one of each unit."""

_UNITS = {
    "km/h": "km/h", "kmh": "km/h", "kph": "km/h", "km h": "km/h", "kmph": "km/h", "kmt": "km/h",
    "km/u": "km/h", "kmu": "km/h", "km/std": "km/h", "mph": "mph", "mi/h": "mph", "mi h": "mph",
    "m/s": "m/s", "mps": "m/s", "m s": "m/s", "ms-1": "m/s", "m/sec": "m/s", "m.s-1": "m/s",
    "m*s-1": "m/s", "cm/s": "cm/s", "mm/s": "mm/s", "ft/s": "ft/s", "fps": "ft/s",
    "kn": "knots", "kt": "knots", "kts": "knots", "knot": "knots", "knots": "knots",
    "knoten": "knots", "noeuds": "knots", "nodi": "knots", "nudos": "knots", "nos": "knots",
    "knopen": "knots",
    "s": "s", "sec": "s", "secs": "s", "sek": "s", "seg": "s", "second": "s", "seconds": "s",
    "sekunden": "s", "ms": "ms", "msec": "ms", "millis": "ms", "milliseconds": "ms",
    "us": "us", "µs": "us", "μs": "us", "usec": "us", "microseconds": "us",
    "ns": "ns", "nsec": "ns", "nanoseconds": "ns", "min": "min",
    "deg": "deg", "degree": "deg", "degrees": "deg", "°": "deg", "grad": "deg", "degre": "deg",
    "gradi": "deg", "grados": "deg", "graus": "deg", "graden": "deg", "dd": "deg",
    "decimal degrees": "deg", "rad": "rad", "radians": "rad",
    "1e-7 deg": "1e-7 deg", "deg*1e7": "1e-7 deg", "1e-7": "1e-7 deg", "deg e7": "1e-7 deg",
    "dege7": "1e-7 deg", "e7": "1e-7 deg", "10^-7 deg": "1e-7 deg", "deg*1e-7": "1e-7 deg",
    "1e7": "1e-7 deg", "deg e-7": "1e-7 deg", "1e-7deg": "1e-7 deg",
    "m": "m", "meter": "m", "metre": "m", "meters": "m", "metres": "m", "mt": "m", "mm": "mm",
    "cm": "cm", "km": "km", "ft": "ft", "feet": "ft", "yd": "yd",
    "ddmm.mmmm": "ddmm.mmmm", "hh:mm:ss": "hh:mm:ss", "hhmmss": "hhmmss", "hhmmss.ss": "hhmmss",
    "utc": "utc", "gmt": "utc", "local": "local", "iso": "iso", "unix": "s", "epoch": "s",
}  # fmt: skip
_LENGTHS_M = {"m": 1.0, "mm": 0.001, "cm": 0.01, "ft": 0.3048, "km": 1000.0, "yd": 0.9144}
_CHANNEL_UNITS = frozenset(
    "% bar kpa psi mbar hpa pa °c c f °f degc degf k v mv a ma w kw hp ps nm n kn g m/s² m/s2 "
    "1/min rpm u/min tr/min min-1 hz deg/s rad/s °/s rad mm cm l l/h kg lambda afr celsius "
    "fahrenheit bool - # count".split()
)


@dataclass(frozen=True, slots=True)
class Header:
    """A header as understood: the name as read, its meaning, its unit (ours or as written)."""

    name: str
    role: str | None
    unit: str | None
    words: tuple[str, ...]


def length_factor(unit: str | None) -> float:
    """Metres in one unit of length; 1 where it is not named."""
    return _LENGTHS_M.get(unit or "m", 1.0)


def plain(text: str) -> str:
    """
    Lower case, no accents, one blank between the words.

    >>> plain("GPS_Länge")
    'gps lange'
    """
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)
    text = unicodedata.normalize(
        "NFKD", text.replace("ß", "ss").replace("ø", "o").replace("ł", "l")
    )
    text = "".join(char for char in text if not unicodedata.combining(char)).lower()
    return re.sub(r"[^a-z0-9]+", " ", text).strip()


def unit_of(text: str) -> str | None:
    """
    Name a unit in our notation, or as it stands; None where the text is no unit.

    >>> unit_of("[KPH]"), unit_of("°C"), unit_of("Friday")
    ('km/h', '°C', None)
    """
    bare = text.strip().strip("[](){}<>").strip()
    low = " ".join(bare.lower().replace("_", " ").split())
    if low in _UNITS:
        return _UNITS[low]
    return bare if low in _CHANNEL_UNITS else None


def read_header(name: str) -> Header:
    """
    Understand one header.

    >>> head = read_header("Geschw. (km/h)")
    >>> head.role, head.unit
    ('speed', 'km/h')
    """
    rest, unit = name.strip().lstrip("#").strip(), None
    bracket = re.search(r"[\[({<]([^\])}>]*)[\])}>]\s*$", rest)
    if bracket:
        inner = bracket[1]
        unit = unit_of(inner) or (inner.strip() or None)
        rest = rest[: bracket.start()]
    else:
        split = re.match(
            r"^(.*?)[\s_]+(?:in[\s_]+)?([^\s_]+|m[\s_]s|km[\s_]h|deg[\s_]e?-?\d+)$", rest
        )
        found = unit_of(split[2]) if split else None
        if split and found and (found not in ("utc", "local") and split[2].lower() != "n"):
            if plain(rest) not in _WHOLE or split[2].lower() in _UNITS:
                rest, unit = split[1], found
    words = plain(rest)
    role = _WHOLE.get(words) or _WHOLE.get(words.replace(" ", ""))
    if role is None:
        role = _by_token(words.split())
    if role == "tempo":
        role = "speed" if unit in SPEED_UNITS else "time"
    if role == "speed" and unit == "ms":
        unit = "m/s"
    if role == "rpm" and unit is None and words in ("rpm", "u min", "tr min"):
        unit = "1/min"
    return Header(name, role, unit, tuple(plain(name).split()))


def _by_token(words: list[str]) -> str | None:
    """Let single words decide, unless another word says it is something else."""
    if not words or len(words) > 4 or any(word in _VETO for word in words):
        return None
    roles = {_TOKEN[word] for word in words if word in _TOKEN}
    return roles.pop() if len(roles) == 1 else None
