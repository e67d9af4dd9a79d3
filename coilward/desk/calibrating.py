"""`coilward calibrate`: its four commands, and their options."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

import typer

from coilward.desk.options import Json, LessSafe, Units, Write, day

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode="rich",
    help="Turn readings of an instrument into constants of a loop file, with a certificate. "
    "Readings are lines of a CSV table with its units in the first line; without a table they are "
    "asked for, and with a board connected it counts, times and reads by itself.",
    epilog="Example: coilward calibrate meter runs.csv --loop mine.toml --page meter.html",
)

Table = Annotated[
    str | None,
    typer.Argument(metavar="[TABLE]", help="A CSV file; asked for line by line without one."),
]
ForLoop = Annotated[
    str, typer.Option("--loop", metavar="LOOP", help="The loop file that it belongs to.")
]
Port = Annotated[
    str | None,
    typer.Option(
        "--port", metavar="PORT", help="A connected board: a serial port, or socket://HOST:PORT."
    ),
]
Page = Annotated[
    str | None, typer.Option("--page", metavar="FILE", help="Write the certificate to print.")
]
On = Annotated[
    datetime | None,
    typer.Option("--on", metavar="DATE", formats=["%Y-%m-%d"], help="The day of the readings."),
]
TABLE_EPILOG = (
    "Table: {heads}. Units go into the first line, or behind a number. Example: {example}"
)


@app.command(
    epilog=TABLE_EPILOG.format(
        heads="pulses, mass kg, water degC, time s (or flow L/min; or volume L for the mass)",
        example="coilward calibrate meter runs.csv --loop mine.toml --step '20 g' --write",
    )
)
def meter(
    loop: ForLoop,
    table: Table = None,
    port: Port = None,
    step: Annotated[
        str, typer.Option("--step", help="Smallest step of the scale, or of the vessel.")
    ] = "50 g",
    repeat: Annotated[
        str, typer.Option("--repeat", help="Spread of one run, where no flow was repeated.")
    ] = "1 %",
    write: Write = False,
    even_if_less_safe: LessSafe = False,
    page: Page = None,
    json: Json = None,
    units: Units = None,
    on: On = None,
) -> None:
    """Weigh water against the pulses of the flow meter."""
    from coilward.desk.calibrate import Asked, calibrate
    from coilward.desk.certify.meter import instrument

    asked = Asked(table, port, loop, day(on, loop), write, even_if_less_safe, page, json, units)
    raise typer.Exit(calibrate(asked, instrument(step, repeat)))


@app.command(
    epilog=TABLE_EPILOG.format(
        heads="bath, reference degC, reading ohm (or degC), doubt K; a bath is ice, boiling or "
        "reference",
        example="coilward calibrate thermometer tank.csv --loop mine.toml --sensor tank",
    )
)
def thermometer(
    loop: ForLoop,
    sensor: Annotated[
        str, typer.Option("--sensor", metavar="NAME", help="Its name in [sensors].")
    ],
    table: Table = None,
    port: Port = None,
    step: Annotated[
        str | None,
        typer.Option("--step", help="Smallest step of the reading; 1 ohm, or the file's quantum."),
    ] = None,
    write: Write = False,
    even_if_less_safe: LessSafe = False,
    page: Page = None,
    json: Json = None,
    units: Units = None,
    on: On = None,
) -> None:
    """Hold a thermometer in ice, boiling water, or beside a reference."""
    from coilward.desk.calibrate import Asked, calibrate
    from coilward.desk.certify.thermometer import instrument

    asked = Asked(table, port, loop, day(on, loop), write, even_if_less_safe, page, json, units)
    raise typer.Exit(calibrate(asked, instrument(sensor, step)))


@app.command(
    epilog=TABLE_EPILOG.format(
        heads="way, position %, flow L/min (or mass kg, time s); a way is opening, closing or stop",
        example="coilward calibrate valve valve.csv --loop mine.toml --shut 149 --open 60",
    )
)
def valve(
    loop: ForLoop,
    table: Table = None,
    port: Port = None,
    shut: Annotated[
        float | None, typer.Option("--shut", help="Servo units at the shut end of the stroke.")
    ] = None,
    opened: Annotated[
        float | None, typer.Option("--open", help="Servo units at the open end.")
    ] = None,
    write: Write = False,
    even_if_less_safe: LessSafe = False,
    page: Page = None,
    json: Json = None,
    units: Units = None,
    on: On = None,
) -> None:
    """Weigh the water that the throttle valve passes at its positions."""
    from coilward.desk.calibrate import Asked, calibrate
    from coilward.desk.certify.valve import instrument

    asked = Asked(table, port, loop, day(on, loop), write, even_if_less_safe, page, json, units)
    raise typer.Exit(calibrate(asked, instrument(shut, opened)))


@app.command(
    epilog=TABLE_EPILOG.format(
        heads="state, current A, flow L/min; a state is running, shut off, dry or held fast",
        example="coilward calibrate pump currents.csv --loop mine.toml --step '10 mA'",
    )
)
def pump(
    loop: ForLoop,
    table: Table = None,
    port: Port = None,
    step: Annotated[
        str, typer.Option("--step", help="Smallest step of the ammeter.")
    ] = "0.01 A",
    write: Write = False,
    even_if_less_safe: LessSafe = False,
    page: Page = None,
    json: Json = None,
    units: Units = None,
    on: On = None,
) -> None:
    """Learn what the pump draws while it pumps, and what tells that it does not."""
    from coilward.desk.calibrate import Asked, calibrate
    from coilward.desk.certify.pump import instrument

    asked = Asked(table, port, loop, day(on, loop), write, even_if_less_safe, page, json, units)
    raise typer.Exit(calibrate(asked, instrument(step)))
