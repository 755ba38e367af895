"""Trains the network of `audio/measure/beat_network.py` on the music of `beat_music.py`.

    python tests/benchmarks/train_beats.py FOLDER audio/measure/beat_weights.npz [STEPS]

FOLDER holds what beat_music.py wrote; needs PyTorch, which the project doesn't. 7000 steps on 2,660 pieces took five
minutes of one H100. One piece of twenty is held back and its loss printed. Shown to the network: 24 s of a piece,
stretched in time, its levels spread, coloured, shifted by bands and put over a floor of noise.
"""

import sys
from pathlib import Path

import numpy as np
import torch
from torch import nn
from torch.nn import functional

FRAMES_PER_S, FRAMES, CHANNELS, LAYERS, TEMPOS = 22050 / 256, 2064, 24, 9, 64
BATCH, RATE, DECAY = 48, 4e-3, 1e-2
NEAR = ((-2, 0.25), (2, 0.25), (-1, 0.6), (1, 0.6), (0, 1.0))  # how much the frames around a beat count as one
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


class Network(nn.Module):
    """Two frames in, two frames out; residual layers whose reach doubles; a tempo from the mean over time."""

    def __init__(self) -> None:
        super().__init__()
        self.first, self.enter = nn.Conv1d(160, CHANNELS, 1), nn.Conv1d(CHANNELS, CHANNELS, 3, padding=1)
        self.layers = nn.ModuleList(
            nn.Conv1d(CHANNELS, CHANNELS, 5, padding=2 * 2**n, dilation=2**n) for n in range(LAYERS)
        )
        self.mixes = nn.ModuleList(nn.Conv1d(CHANNELS, CHANNELS, 1) for _ in range(LAYERS))
        self.out, self.drop = nn.Conv1d(2 * CHANNELS, 4, 1), nn.Dropout(0.1)
        self.tempo_first, self.tempo_second = nn.Linear(2 * CHANNELS, 32), nn.Linear(32, TEMPOS)

    def forward(self, seen: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
        state = functional.elu(self.enter(functional.elu(self.first(seen))))
        total = torch.zeros_like(state)
        for layer, mix in zip(self.layers, self.mixes, strict=True):
            heard = self.drop(functional.elu(layer(state)))
            state, total = state + mix(heard), total + heard
        last = torch.cat([state, total], 1)
        odds = self.out(last)
        count, _, steps = odds.shape
        frames = odds.reshape(count, 2, 2, steps).permute(0, 1, 3, 2).reshape(count, 2, 2 * steps)
        return frames[:, 0], frames[:, 1], self.tempo_second(functional.elu(self.tempo_first(last.mean(2))))


def seen(levels: torch.Tensor) -> torch.Tensor:
    """dB below the loudest band, shape (n, frames, 40), into levels and rises of two frames, (n, 160, frames / 2)."""
    levels = levels.clamp(-60, 10)
    rise = functional.pad((levels[:, 2:] - levels[:, :-2]).clamp(min=0), (0, 0, 2, 0))
    both = torch.cat([levels / 30 + 1, rise / 8], 2)
    count, frames, width = both.shape
    return both.reshape(count, frames // 2, 2 * width).transpose(1, 2)


class Pieces:
    """Everything in a folder, and batches of it."""

    def __init__(self, folder: Path) -> None:
        files = [np.load(path) for path in sorted(folder.glob("*.npz"))]
        self.levels = [torch.from_numpy(file["levels"]).to(DEVICE) for file in files]
        self.beats, self.bars = [file["beats"] for file in files], [file["bars"] for file in files]
        self.random = np.random.default_rng(0)

    def batch(self, chosen: np.ndarray, changed: bool) -> tuple[torch.Tensor, ...]:
        levels, beats, bars, tempos = zip(*(self.piece(index, changed) for index in chosen), strict=True)
        stacked = torch.stack(levels) / 2.5 - 80
        targets = (torch.from_numpy(np.stack(values)).to(DEVICE) for values in (beats, bars))
        return seen(disguised(stacked, self.random) if changed else stacked), *targets, torch.tensor(tempos).to(DEVICE)

    def piece(self, index: int, changed: bool) -> tuple[torch.Tensor, np.ndarray, np.ndarray, int]:
        levels, random = self.levels[index], self.random
        slower = float(np.clip(np.exp(random.normal(0, 0.13)), 0.74, 1.35)) if changed else 1.0
        start = random.uniform(0, max(1e-3, len(levels) - FRAMES / slower)) if changed else 0.0
        places = torch.arange(FRAMES, device=DEVICE) / slower + start
        low = places.floor().long().clamp(0, len(levels) - 1)
        part = (places - low)[:, None]
        between = levels[low].float() * (1 - part) + levels[(low + 1).clamp(max=len(levels) - 1)].float() * part
        frames = [(times * FRAMES_PER_S - start) * slower for times in (self.beats[index], self.bars[index])]
        bpm = 60 / np.median(np.diff(self.beats[index])) / slower
        place = round(float(np.log2(bpm / 40) / np.log2(240 / 40)) * (TEMPOS - 1))
        whole = between * (places < len(levels))[:, None]
        return whole, target(frames[0]), target(frames[1]), min(TEMPOS - 1, max(0, place))


def target(frames: np.ndarray) -> np.ndarray:
    wanted = np.zeros(FRAMES, np.float32)
    whole = np.round(frames[(frames >= -0.5) & (frames < FRAMES - 1.5)]).astype(int)
    for offset, value in NEAR:
        at = whole + offset
        at = at[(at >= 0) & (at < FRAMES)]
        wanted[at] = np.maximum(wanted[at], value)
    return wanted


def disguised(levels: torch.Tensor, random: np.random.Generator) -> torch.Tensor:
    """The same music as another master, through another room, with noise."""
    count = len(levels)

    def even(*shape: int) -> torch.Tensor:
        return torch.rand(*shape, device=DEVICE)

    def normal(*shape: int) -> torch.Tensor:
        return torch.randn(*shape, device=DEVICE)

    levels = levels * (0.6 + 0.7 * even(count, 1, 1)) + 4 * normal(count, 1, 1)
    levels = levels + functional.interpolate(5 * normal(count, 1, 6), size=40, mode="linear", align_corners=True)
    floor = -75 + 35 * even(count, 1, 1) * (even(count, 1, 1) < 0.4)
    floor = floor + 1.5 * normal(count, FRAMES, 40) * (even(count, 1, 1) < 0.5)
    levels = torch.maximum(levels, floor) + 0.4 * normal(count, FRAMES, 40)
    return torch.roll(levels, int(random.integers(-2, 3)), 2) if random.random() < 0.5 else levels


def loss(network: Network, batch: tuple[torch.Tensor, ...]) -> torch.Tensor:
    given, beats, bars, tempos = batch
    beat_odds, bar_odds, tempo_odds = network(given)
    weight = torch.tensor(3.0, device=DEVICE)
    return (
        functional.binary_cross_entropy_with_logits(beat_odds, beats, pos_weight=weight)
        + 0.5 * functional.binary_cross_entropy_with_logits(bar_odds, bars, pos_weight=2 * weight)
        + 0.1 * functional.cross_entropy(tempo_odds, tempos, label_smoothing=0.1)
    )


def trained(pieces: Pieces, steps: int) -> Network:
    torch.manual_seed(0)
    network = Network().to(DEVICE)
    held_back = np.arange(len(pieces.levels)) % 20 == 7
    ours, theirs = np.flatnonzero(~held_back), np.flatnonzero(held_back)
    optimiser = torch.optim.AdamW(network.parameters(), lr=RATE, weight_decay=DECAY)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, RATE, total_steps=steps, pct_start=0.15)
    for step in range(1, steps + 1):
        network.train()
        value = loss(network, pieces.batch(pieces.random.choice(ours, BATCH), changed=True))
        optimiser.zero_grad()
        value.backward()
        nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        optimiser.step()
        schedule.step()
        if step % 250 == 0 or step == steps:
            network.eval()
            with torch.no_grad():
                print(
                    step, float(value.detach()), float(loss(network, pieces.batch(theirs, changed=False))), flush=True
                )
    return network


def written(network: Network, path: Path) -> None:
    """Half-precision arrays under the names that `beat_network` reads; a kernel is (taps * channels in, channels out)."""
    values = {name: value.detach().float().cpu().numpy() for name, value in network.state_dict().items()}

    def kernel(name: str) -> np.ndarray:
        weights = values[f"{name}.weight"]
        return weights.transpose(2, 1, 0).reshape(-1, len(weights))

    arrays = {"first/kernel": kernel("first"), "first/bias": values["first.bias"]}
    arrays |= {"enter/kernel": kernel("enter"), "enter/bias": values["enter.bias"]}
    for n in range(LAYERS):
        arrays |= {f"{n}/kernel": kernel(f"layers.{n}"), f"{n}/bias": values[f"layers.{n}.bias"]}
        arrays |= {f"{n}/mix": kernel(f"mixes.{n}"), f"{n}/mix_bias": values[f"mixes.{n}.bias"]}
    arrays |= {"out/kernel": kernel("out"), "out/bias": values["out.bias"]}
    for part in ("first", "second"):
        arrays |= {
            f"tempo/{part}": values[f"tempo_{part}.weight"].T,
            f"tempo/{part}_bias": values[f"tempo_{part}.bias"],
        }
    np.savez(path, **{name: np.ascontiguousarray(value, np.float16) for name, value in arrays.items()})


if __name__ == "__main__":
    steps_wanted = int(sys.argv[3]) if len(sys.argv) > 3 else 7000
    written(trained(Pieces(Path(sys.argv[1])), steps_wanted), Path(sys.argv[2]))
