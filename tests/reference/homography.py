"""Homographies by a general library, for tests/suite/tracing.rs.

    pip install opencv-python-headless numpy
    python3 homography.py > homography.json
"""
import json

import cv2
import numpy as np

rng = np.random.default_rng(20261127)
cases = []
while len(cases) < 60:
    w, h = rng.uniform(150, 400, 2)
    sheet = np.array([[0, 0], [w, 0], [w, h], [0, h]]) + rng.uniform(5, 30, 2)
    # A frame anywhere in a picture, each corner moved by up to a fifth of its size.
    scale = rng.uniform(2, 12)
    turn = rng.uniform(0, 2 * np.pi)
    r = np.array([[np.cos(turn), np.sin(turn)], [np.sin(turn), -np.cos(turn)]])
    seen = sheet @ r.T * scale + rng.uniform(-0.2, 0.2, (4, 2)) * min(w, h) * scale + 2000
    m = cv2.getPerspectiveTransform(sheet.astype(np.float32), seen.astype(np.float32))
    # The library takes single precision: what went in is what is handed on.
    sheet, seen = sheet.astype(np.float32).astype(float), seen.astype(np.float32).astype(float)
    at = sheet.mean(axis=0) + rng.uniform(-0.3, 0.3, 2) * (w, h)
    goes = cv2.perspectiveTransform(at.reshape(1, 1, 2), m)[0, 0]
    cases.append({"from": sheet.tolist(), "to": seen.tolist(), "at": at.tolist(), "goes": goes.tolist()})
print(json.dumps(cases))
