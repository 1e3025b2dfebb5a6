"""Following the panel from frame to frame under shake, turning and zooming of the hand.

Every frame is brought back onto the first one by the motion guessed from the frame before
and a phase correlation (Kuglin & Hines 1975; from memory); what is left is found by pyramidal
Lucas-Kanade flow (Bouguet 2000; from memory) on points away from the lamps, and fitted by
RANSAC (Fischler & Bolles 1981). Flow is always taken against the first frame, so that errors
do not add up. Contrast is evened out first, so that the camera's gain does not matter.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.panel.straightening import mapped
from tubside.recordings.clip.decoding import Grey

Array = NDArray[np.float64]
Singles = NDArray[np.float32]
_Fitted = tuple[Array | None, NDArray[np.uint8]]

MOST_POINTS = 220
FEWEST_POINTS = 12
"""Points found in the first frame; with fewer there is nothing to hold on to."""
LEAST_INLIERS, LEAST_SHARE = 14, 0.15
"""Chance brings one or two points of 200 into line, as flow strays over many pixels."""
WINDOW = 17
STRAY = 1.5
"""A point further than this from the fit is no inlier [working pixels]."""
BENT = 0.6
"""Median residual of a similarity above which a homography is tried [working pixels]."""
FOR_HOMOGRAPHY = 40
NEAREST = 6
"""Points by lamp that say which of two motions is the panel's."""
HELD = 1 / 3
"""Share of those points that must follow the motion of most where there is no other."""
COARSE = 4
NEARBY = 31
"""Side of the square over which contrast is evened out [working pixels]."""
FAINT = 0.03
"""Spread of the logarithm below which detail is taken for noise (a contrast of 3 %)."""
LOGS = np.log(np.arange(256) + 8.0).astype(np.float32)


@dataclass(frozen=True, slots=True)
class Motion:
    """How the first frame maps onto another (working pixels), and what supports it."""

    matrix: Array
    inliers: int
    share: float

    @property
    def found(self) -> bool:
        """Whether enough points agree."""
        return self.inliers >= LEAST_INLIERS and self.share >= LEAST_SHARE


@dataclass(slots=True)
class Follower:
    """The first frame, the points held on to, and where the last frame found was.

    ``near`` says which points are among those nearest to some lamp.
    """

    first: Grey
    points: NDArray[np.float32]
    near: NDArray[np.bool_]
    matrix: Array = field(default_factory=lambda: np.eye(3))
    before: NDArray[np.float32] | None = None

    def follow(self, grey: Grey) -> tuple[Motion, Grey]:
        """Return the motion of a frame, and the frame brought back by the motion guessed."""
        small = _small(grey)
        guess = _shift(self.before, small) @ self.matrix
        self.before = small
        back = brought_back(grey, guess)
        motion = self._residual(evened(back), guess)
        if motion.found:
            self.matrix = motion.matrix
        return motion, back

    def _residual(self, back: Grey, guess: Array) -> Motion:
        """The guess bettered by the flow that is left."""
        flow, status, _ = cv2.calcOpticalFlowPyrLK(
            self.first, back, self.points, self.points.copy(), winSize=(WINDOW, WINDOW), maxLevel=2
        )
        good = status.ravel() == 1
        if good.sum() < LEAST_INLIERS:
            return Motion(guess, int(good.sum()), 0.0)
        source, target = self.points[good].reshape(-1, 2), flow[good].reshape(-1, 2)
        rest, inliers, aside = _of_lamps(source, target, self.near[good])
        if rest is None:
            return Motion(guess, 0, 0.0)
        count = int(inliers.sum())
        return Motion(_unit(guess @ rest), count, count / (len(self.points) - aside))


def _unit(matrix: Array) -> Array:
    return np.asarray(matrix / matrix[2, 2])


def _of_lamps(
    source: NDArray[np.float32], target: NDArray[np.float32], near: NDArray[np.bool_]
) -> tuple[Array | None, NDArray[np.bool_], int]:
    """The motion of most points, or of those that do not follow it but lie nearest to lamps.

    A hand or a box that moves before the panel may hold more points than the panel does. Told
    with it are the points that follow it, and how many were set aside as those of another thing.
    """
    rest, inside = _fit(source, target)
    others = ~inside
    if rest is None or (near & inside).sum() >= (near & others).sum():
        return rest, inside, 0
    second, along = None, np.zeros(0, dtype=np.bool_)
    if others.sum() >= LEAST_INLIERS:
        second, along = _fit(source[others], target[others])
    theirs = np.zeros_like(inside)
    if second is not None:
        theirs[others] = along
    if theirs.sum() >= LEAST_INLIERS and (near & theirs).sum() > (near & inside).sum():
        return second, theirs, int(inside.sum())
    blurred = (near & inside).sum() >= HELD * near.sum()  # noise alone takes points out of line
    return rest if blurred else None, inside, 0


def _fit(
    source: NDArray[np.float32], target: NDArray[np.float32]
) -> tuple[Array | None, NDArray[np.bool_]]:
    """The similarity of most points, or a homography where it explains clearly more."""
    fit = cv2.estimateAffinePartial2D(
        source, target, method=cv2.RANSAC, ransacReprojThreshold=STRAY, maxIters=500
    )
    found, mask = cast("_Fitted", fit)
    none = np.zeros(len(source), dtype=np.bool_)
    if found is None:
        return None, none
    similar = np.vstack([found, [0.0, 0.0, 1.0]])
    inside = mask.ravel() == 1
    off = np.linalg.norm(mapped(similar, source) - target, axis=1)
    if inside.sum() < 0.7 * len(source) or np.median(off) > BENT:
        bent = _bent(source, target, int(inside.sum()))
        similar, inside = bent or (similar, inside)
    return similar, inside


def _bent(
    source: NDArray[np.float32], target: NDArray[np.float32], least: int
) -> tuple[Array, NDArray[np.bool_]] | None:
    if len(source) < FOR_HOMOGRAPHY:
        return None
    found, mask = cast("_Fitted", cv2.findHomography(source, target, cv2.RANSAC, STRAY))
    if found is None or mask.sum() < 1.2 * least:
        return None
    return np.asarray(found, np.float64), mask.ravel() == 1


def evened(grey: Grey) -> Grey:
    """Return a picture evened out: as it would be under any gain and, nearly, any glare.

    The logarithm less its mean around each pixel, in units of its spread there, so that a
    factor on the light drops out.
    """
    mean, spread, log = _around(grey)
    return np.asarray(cv2.convertScaleAbs((log - mean) / (spread + FAINT), alpha=45.0, beta=128.0))


def _around(grey: Grey) -> tuple[Singles, Singles, Singles]:
    """Mean and spread of the logarithm of light around each pixel, and the logarithm."""
    log = LOGS[grey]
    mean = cv2.boxFilter(log, -1, (NEARBY, NEARBY), borderType=cv2.BORDER_REFLECT)
    square = cv2.boxFilter(log * log, -1, (NEARBY, NEARBY), borderType=cv2.BORDER_REFLECT)
    spread = np.sqrt(np.maximum(square - mean * mean, 0.0))
    return np.asarray(mean), np.asarray(spread), log


def brought_back(grey: Grey, matrix: Array) -> Grey:
    """Return a frame as seen from where the first one was taken."""
    height, width = grey.shape
    return np.asarray(
        cv2.warpPerspective(
            grey,
            matrix,
            (width, height),
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_REPLICATE,
        )
    )


def _small(grey: Grey) -> NDArray[np.float32]:
    height, width = grey.shape
    small = cv2.resize(grey, (width // COARSE, height // COARSE), interpolation=cv2.INTER_AREA)
    return np.asarray(evened(np.asarray(small)), dtype=np.float32)


def _shift(before: NDArray[np.float32] | None, now: NDArray[np.float32]) -> Array:
    """The shift from the frame before, as a matrix; none where it is not clear."""
    matrix = np.eye(3)
    if before is not None:
        window = cv2.createHanningWindow(now.shape[::-1], cv2.CV_32F)
        (dx, dy), clear = cv2.phaseCorrelate(before, now, window)
        if clear > 0.1:
            matrix[:2, 2] = dx * COARSE, dy * COARSE
    return matrix


def follower(grey: Grey, lamps: Array, radius: float) -> Follower:
    """Return what is needed to follow the panel from its first frame.

    Parameters
    ----------
    grey : ndarray of uint8
        The first frame at working size.
    lamps : Array
        Places of the lamps in it, shape (lamps, 2).
    radius : float
        Around each lamp nothing is held on to, for it changes with the lamp.

    Raises
    ------
    RecordingError
        Hardly any detail in the picture.
    """
    mask = np.where(_around(grey)[1] > FAINT / 2, 255, 0).astype(np.uint8)
    for x, y in lamps:
        cv2.circle(mask, (round(x), round(y)), round(radius + WINDOW / 2), 0, -1)
    first = evened(grey)
    apart = max(4, min(grey.shape) // 40)
    corners = cv2.goodFeaturesToTrack(first, MOST_POINTS, 0.02, apart, mask=mask)
    points = cast("NDArray[np.float32] | None", corners)
    if points is None or len(points) < FEWEST_POINTS:
        msg = "no panel is seen around the lamps; film so that its edges and labels are sharp"
        raise RecordingError(msg)
    apart = np.linalg.norm(points.reshape(-1, 1, 2) - lamps, axis=2)
    near = np.zeros(len(points), dtype=np.bool_)
    near[np.argsort(apart, axis=0)[:NEAREST].ravel()] = True
    return Follower(first, np.asarray(points, np.float32), near)
