/* Flights to the ground one after another: Runge-Kutta steps of fourth order, the landing on the cubic between two. */
#include <math.h>

typedef struct { double drag, spin_drag, thick, shift, turn[3], gravity; } Force;

static inline void accelerate(const Force *f, const double *u, double *a) {
    double square = u[0] * u[0] + u[1] * u[1] + u[2] * u[2], speed = sqrt(square);
    double drag = (f->drag + f->spin_drag * pow(f->thick + square * sqrt(speed), -0.4)) * speed;
    double lift = speed / (speed + f->shift);
    a[0] = lift * (f->turn[1] * u[2] - f->turn[2] * u[1]) - drag * u[0];
    a[1] = lift * (f->turn[2] * u[0] - f->turn[0] * u[2]) - drag * u[1];
    a[2] = lift * (f->turn[0] * u[1] - f->turn[1] * u[0]) - drag * u[2] - f->gravity;
}

static void advance(const Force *f, double *u, double *x, const double *wind, double h) {
    double a[4][3], s[3];
    accelerate(f, u, a[0]);
    for (int i = 0; i < 3; i++) s[i] = u[i] + h / 2 * a[0][i];
    accelerate(f, s, a[1]);
    for (int i = 0; i < 3; i++) s[i] = u[i] + h / 2 * a[1][i];
    accelerate(f, s, a[2]);
    for (int i = 0; i < 3; i++) s[i] = u[i] + h * a[2][i];
    accelerate(f, s, a[3]);
    for (int i = 0; i < 3; i++) {
        x[i] += h * (u[i] + h / 6 * (a[0][i] + a[1][i] + a[2][i]) + wind[i]);
        u[i] += h / 6 * (a[0][i] + 2 * a[1][i] + 2 * a[2][i] + a[3][i]);
    }
}

/* Component first, (3, n): position, velocity, spin, and the landing that is found. */
void landings(long n, const double *position, const double *velocity, const double *spin, const double *wind,
              double k, double radius, double offset, double growth, double gravity, double floor, double h, double *landing) {
    for (long i = 0; i < n; i++) {
        double rim = radius * sqrt(spin[i] * spin[i] + spin[n + i] * spin[n + i] + spin[2 * n + i] * spin[2 * n + i]);
        Force f = {k * offset, k * pow(4.196, -0.4) * growth * rim, fmax(22.503 / 4.196 * pow(rim, 2.5), 1e-300),
                   fmax(2.022 / 0.981 * rim, 1e-300), {0, 0, 0}, gravity};
        double u[3], x[3], before_u[3], before_x[3];
        for (int c = 0; c < 3; c++) {
            f.turn[c] = k * radius / 0.981 * spin[c * n + i];
            u[c] = velocity[c * n + i] - wind[c];
            x[c] = position[c * n + i];
        }
        for (double t = 0; t < 8; t += h) {
            for (int c = 0; c < 3; c++) { before_u[c] = u[c]; before_x[c] = x[c]; }
            advance(&f, u, x, wind, h);
            if (before_x[2] < floor || x[2] > floor) continue;
            double start = before_x[2] - floor, end = x[2] - floor, share = start / (start - end);
            double slope = h * (before_u[2] + wind[2]), slope_end = h * (u[2] + wind[2]);
            double square = 3 * (end - start) - 2 * slope - slope_end, cube = slope + slope_end - 2 * (end - start);
            for (int turn = 0; turn < 4; turn++)
                share -= (start + share * (slope + share * (square + share * cube)))
                         / (slope + share * (2 * square + 3 * share * cube));
            advance(&f, before_u, before_x, wind, share * h);
            double late = (before_x[2] - floor) / -(before_u[2] + wind[2]);
            for (int c = 0; c < 3; c++) landing[c * n + i] = before_x[c] + late * (before_u[c] + wind[c]);
            break;
        }
    }
}
