# Links offers to variants by likeness of their texts, as somebody would write it who has rapidfuzz and scipy: within each
# listing, among the variants of the products that it may sell (of all, where none is picked), the one-to-one assignment with
# the largest sum of scores. To standard output goes, for each offer in the order of the table, the variant that it was given
# and their score, as JSON; which scores are high enough to be believed is the reader's to say. To standard error go the
# seconds from the tables in memory to the answer.
#
#     fuzzy.py FOLDER SCORER TEXT [EVERY]
#
# TEXT is `title and options`: an offer's title and the values of its options are compared; or `options`: these alone. With
# EVERY, only the first of every so many listings is linked.
import csv
import json
import os
import sys
import time

from rapidfuzz import fuzz, process, utils
from scipy.optimize import linear_sum_assignment


def table(name):
    with open(os.path.join(sys.argv[1], name), encoding="utf-8", newline="") as rows:
        return list(csv.DictReader(rows))


def text(row, named):
    words = [row[named]] if named else []
    words += json.loads(row.get("options") or "{}").values()
    words += [value for name, value in row.items() if name.startswith("option.") and value]
    return utils.default_process(" ".join(words))


def main():
    offers, variants = table("offers.csv"), table("variants.csv")
    picks = table("listing_products.csv")
    scorer = getattr(fuzz, sys.argv[2])
    named = "title" if sys.argv[3] == "title and options" else None
    every = int(sys.argv[4]) if len(sys.argv) > 4 else 1

    started = time.perf_counter()
    texts = [text(variant, "product") for variant in variants]
    products, listings, sold = {}, {}, {}
    for place, variant in enumerate(variants):
        products.setdefault((variant["supplier"], variant["product"]), []).append(place)
    for pick in picks:
        product = (pick["supplier"], pick["product"])
        sold.setdefault(pick["listing_id"], {}).update(dict.fromkeys(products.get(product, [])))
    for place, offer in enumerate(offers):
        listings.setdefault(offer["listing_id"], []).append(place)

    answers = [None] * len(offers)
    for listing_id in list(listings)[::every]:
        of_listing = listings[listing_id]
        among = list(sold.get(listing_id, range(len(variants))))
        if not among:
            continue
        scores = process.cdist(
            [text(offers[place], named) for place in of_listing],
            [texts[place] for place in among],
            scorer=scorer,
            workers=-1,
        )
        for row, column in zip(*linear_sum_assignment(scores, maximize=True)):
            variant = variants[among[column]]
            answers[of_listing[row]] = {
                "supplier": variant["supplier"],
                "variant_id": variant["variant_id"],
                "score": round(float(scores[row, column]), 3),
            }
    took = time.perf_counter() - started

    for answer in answers:
        print(json.dumps(answer))
    print(f"{took:.3f}", file=sys.stderr)


main()
