"""A small book as text, and one row of it changed at a time."""

COLUMNS = (
    "row,key,name,component,action,locations,per,hours,rate,text,requires,with_parts,fluids,cost,price,unit,"
    "cost_from,percent,on,currency"
)
SMALL = f"""{COLUMNS}
settings,,,,,,,,,,,,,,,,,,,USD
rate,,standard,,,,,,,,,,,,135.00,,,,,
markup,,,,,,,,,,,,,,,,0,100,,
tax,,Sales tax,,,,,,,,,,,,,,,7.25,part | labor | fluid,
fluid,brake_fluid,,,,,,,,Brake fluid,,,,,16.00,qt,,,,
operation,pads,,brake_pad,replace,front,axle,1.3,,,hose,brake_rotor*2,brake_fluid*0.5,,,,,,,
operation,hose,,brake_hose,replace,,,0.8,,,,,,,,,,,,
part,pads_a,,brake_pad,,front,axle,,,Front pads,,,,40.00,,,,,,
part,rotor_a,,brake_rotor,,,,,,Rotor,,,,,88.00,,,,,
part,hose_a,,brake_hose,,,,,,Hose,,,,30,,,,,,
"""
"""In row 2 the settings, in 7 and 8 the operations, in 9 to 11 the parts."""


def changed(*changes: tuple[int, str, str]) -> bytes:
    """SMALL with cells changed: (row, column, what stands there instead)."""
    table = [line.split(",") for line in SMALL.splitlines()]
    for row, column, cell in changes:
        table[row - 1][table[0].index(column)] = cell
    return "\r\n".join(",".join(line) for line in table).encode()
