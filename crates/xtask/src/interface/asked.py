"""Starts the program over a small invented shop, has schemathesis ask it everything that its document says, and ends it.

Takes where the program is and an empty folder. To standard output goes one line of how much was asked, or what is another
than the document says, each with the request that shows it. Ends with 0 where all is as said.
"""

import csv
import datetime
import json
import pathlib
import re
import subprocess
import sys
import time

# How long the program may take to have looked at the shop, and schemathesis to ask.
STARTING, ASKING, ENDING = 60, 180, 10

# What is asked depends on this alone.
SEED = "20261126"

TOKEN = "a-token-of-somebody-who-acts-5518"

# Texts that stand for what customers and suppliers write.
ODD = "<b>Wagtail</b> \u202eapron \U0001f469\u200d\U0001f373 順番"

# What cannot be bounded in time, and is asked for in the step `browser`: events without an end.
LEFT_OUT = "/events"

CONFIGURATION = f"""
# Refused because of what stands now, and not because of how it is asked (RFC 9110, section 15.5.21): 422. The same request
# may be taken at another time, so that no schema could say it.
[checks.positive_data_acceptance]
expected-statuses = ["2xx", "401", "403", "404", "409", "422"]

[generation]
max-examples = 60
"""


def ago(hours):
    moment = datetime.datetime.now(datetime.timezone.utc) - datetime.timedelta(hours=hours)
    return moment.isoformat(timespec="seconds")


def tables():
    """An order of which half was sent, one that was not sent at all, and a supplier order of nobody's."""
    def options(size):
        return json.dumps({"Size": size, ODD: "Moss"})

    def variant(size):
        return {"supplier": "alder-print", "variant_id": f"v-{size}", "sku": f"ALDER-{size}", "product": "Apron",
                "options": json.dumps({"Size": size, "Colour": "Moss"}), "unit_cost": "9.00", "currency": "EUR"}

    def offer(size, sku):
        return {"listing_id": "KL-30", "sku": sku, "title": ODD, "options": options(size), "price": "24.00", "currency": "EUR"}

    def order(order_id, hours):
        return {"order_id": order_id, "placed_at": ago(hours), "paid_at": ago(hours), "status": "open", "currency": "EUR"}

    def line(order_id, line_id, size, sku):
        return {"order_id": order_id, "line_id": line_id, "listing_id": "KL-30", "sku": sku, "title": ODD,
                "options": options(size), "quantity": 2, "unit_price": "24.00"}

    def sent(submission_id, reference):
        return {"supplier": "alder-print", "submission_id": submission_id, "order_ref": reference, "status": "received",
                "received_at": ago(5)}

    def part(submission_id, size):
        return {"supplier": "alder-print", "submission_id": submission_id, "line_id": "1", "variant_id": f"v-{size}",
                "sku": f"ALDER-{size}", "quantity": 2, "unit_cost": "9.00"}

    return {
        "variants": [variant(size) for size in "SML"],
        "offers": [offer("S", "ALDER-S"), offer("M", "ALDER-L"), offer("L", "")],
        "orders": [order("KK-302", 6), order("KK/3 ä", 9)],
        "order_lines": [line("KK-302", "1", "S", "ALDER-S"), line("KK-302", "2", "L", ""), line("KK/3 ä", "1", "S", "ALDER-S")],
        "submissions": [sent("A-2", "KK-302"), sent("A-3", "nobody")],
        "submission_lines": [part("A-2", "S"), part("A-3", "M")],
    }


def laid_out(folder):
    """Writes the shop and its configuration, and answers where the latter is."""
    files = folder / "files"
    files.mkdir()
    for name, rows in tables().items():
        with open(files / f"{name}.csv", "w", encoding="utf-8", newline="") as table:
            writer = csv.DictWriter(table, rows[0].keys())
            writer.writeheader()
            writer.writerows(rows)
    (folder / "act.token").write_text(TOKEN)
    configuration = folder / "everyline.toml"
    configuration.write_text("""
[page]
listen = "127.0.0.1:0"
tokens = [{ role = "act", token = { file = "act.token" } }]
[sources.files]
role = "storefront"
folder = "files"
every = "1 s"
""")
    return configuration


def address(said, watch):
    """Where the page is, once the shop was looked at: before, there is nothing to be asked for."""
    began = time.monotonic()
    while time.monotonic() - began < STARTING:
        text = said.read_text(encoding="utf-8")
        found = re.search(r"the page is at (http://\S+)", text)
        if found and "new rows" in text and "found" in text:
            return found[1].rstrip("/")
        if watch.poll() is not None:
            break
        time.sleep(0.1)
    sys.exit(f"the watch does not look at the shop:\n{said.read_text(encoding='utf-8')}")


def asked(url, folder):
    """Has everything asked; answers how it ended and what was said."""
    (folder / "schemathesis.toml").write_text(CONFIGURATION, encoding="utf-8")
    command = [
        sys.executable, "-m", "schemathesis.cli", "--config-file", str(folder / "schemathesis.toml"), "run",
        f"{url}/api/openapi.json", "--header", f"Authorization: Bearer {TOKEN}", "--checks", "all",
        "--phases", "examples,coverage,fuzzing,stateful", "--seed", SEED, "--request-timeout", "10", "--exclude-path", LEFT_OUT,
        "--continue-on-failure", "--no-color",
    ]
    try:
        ended = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=ASKING)
    except subprocess.TimeoutExpired:
        return 1, f"schemathesis was not done after {ASKING} s"
    return ended.returncode, ended.stdout + ended.stderr


def main():
    program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    configuration = laid_out(folder)
    said = folder / "said"
    with open(said, "wb") as output:
        watch = subprocess.Popen([program, "watch", "--config", str(configuration)], stdout=output, stderr=output)
    try:
        code, text = asked(address(said, watch), folder)
    finally:
        watch.terminate()
        try:
            watch.wait(ENDING)
        except subprocess.TimeoutExpired:
            watch.kill()
            watch.wait()
    if code != 0:
        _, found, failures = text.partition("FAILURES")
        lines = [line[:220] for line in (failures if found else text).splitlines() if line.strip()]
        print("\n".join(lines[:80]))
        sys.exit(1)
    # What was asked, so that nobody takes a document of nothing for one that holds.
    operations, cases = re.search(r"Tested: (\d+)", text), re.search(r"(\d+) generated", text)
    if not operations or not cases or int(operations[1]) < 10 or int(cases[1]) < 300:
        sys.exit(f"hardly anything was asked:\n{text[-2000:]}")
    print(f"{cases[1]} requests of {operations[1]} operations, answered as is said")


main()
